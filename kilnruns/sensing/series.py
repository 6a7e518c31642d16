"""What sensors measured, looked up for a span of time in as many points as a drawing can use."""

from collections.abc import Sequence
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
    return points_of([series], begin, end, most)[series]


def points_of(series: Sequence[int], begin: int, end: int, most: int = POINTS) -> dict[int, list[Point]]:
    """The same of several series at once, by their keys; two queries however many there are."""
    width = max(1, -(-(end - begin) // most))
    slot = Floor((F("second") - begin) / float(width))
    span = {"series__in": series, "second__gte": begin, "second__lt": end}
    raw = SensorReading.objects.filter(**span).values("series", slot=slot).order_by()
    raw = raw.annotate(middle=Avg("value"), lowest=Min("value"), highest=Max("value"))
    means = SensorMean.objects.filter(**span).values("series", slot=slot).order_by()
    weighted = Sum(F("mean") * F("count")) / (1.0 * Sum("count"))
    means = means.annotate(middle=weighted, lowest=Min("low"), highest=Max("high"))
    columns = ("series", "slot", "middle", "lowest", "highest")
    found: dict[int, dict[int, Point]] = {one: {} for one in series}
    for one, at, mean, low, high in [*means.values_list(*columns), *raw.values_list(*columns)]:
        second = begin + int(at) * width
        # A slot can hold the end of the thinned and the beginning of the single ones: what is newer stands.
        found[one][second] = Point(second, mean, low, high)
    return {one: [by_second[second] for second in sorted(by_second)] for one, by_second in found.items()}
