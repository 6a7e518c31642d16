"""What sensors measured, looked up for a span of time in as many points as a drawing can use."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Avg, F, Max, Min, Sum
from django.db.models.functions import Floor

from kilnruns.models import SensorMean, SensorReading

POINTS = 400


@dataclass(frozen=True, slots=True)
class Point:
    """Mean, lowest and highest value around a moment (seconds since 1970)."""

    second: int
    mean: float
    low: float
    high: float


def points(series: int, begin: int, end: int, most: int = POINTS) -> list[Point]:
    """A series (its key) from `begin` to `end`, seconds since 1970, in at most about `most` points; two queries."""
    width = max(1, -(-(end - begin) // most))
    slot = Floor((F("second") - begin) / float(width))
    span = {"series": series, "second__gte": begin, "second__lt": end}
    raw = SensorReading.objects.filter(**span).values(slot=slot).order_by()
    raw = raw.annotate(middle=Avg("value"), lowest=Min("value"), highest=Max("value"))
    means = SensorMean.objects.filter(**span).values(slot=slot).order_by()
    weighted = Sum(F("mean") * F("count")) / (1.0 * Sum("count"))
    means = means.annotate(middle=weighted, lowest=Min("low"), highest=Max("high"))
    columns = ("slot", "middle", "lowest", "highest")
    rows = [*means.values_list(*columns), *raw.values_list(*columns)]
    return _points(rows, begin, width)


def _points(rows: Iterable[tuple[float, float, float, float]], begin: int, width: int) -> list[Point]:
    found: dict[int, Point] = {}
    for slot, mean, low, high in rows:
        second = begin + int(slot) * width
        # A slot can hold the end of the thinned and the beginning of the single ones: what is newer stands.
        found[second] = Point(second, mean, low, high)
    return [found[second] for second in sorted(found)]
