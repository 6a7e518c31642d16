"""A year of fifty sensors, ten readings a minute each, as it is kept: how much, and how fast it is looked up.

In a database of its own: SQLite in memory, or beside the one that DATABASE_URL names.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from time import process_time

from django.test.utils import setup_databases, teardown_databases

from kilnruns.actions import sensing
from kilnruns.models import SensorMean, SensorReading, SensorSeries
from kilnruns.sensing.message import RAW_DAYS
from kilnruns.sensing.series import points
from tests.bench.figure import Figure

SENSORS, EVERY_SECONDS, YEAR_DAYS, DAY = 50, 6, 365, 86400
TENS_DAYS = sensing.TEN_MINUTES_DAYS
NOW = datetime(2026, 3, 1, tzinfo=UTC)
END = int(NOW.timestamp())
SENT = SENSORS * YEAR_DAYS * DAY // EVERY_SECONDS
SPANS = {"a day": 1, "a week": 7, "a year": YEAR_DAYS}


def figures() -> Iterator[Figure]:
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        yield from _measured()
    finally:
        teardown_databases(databases, verbosity=0)


def _measured() -> Iterator[Figure]:
    from tests.kilnruns.factories import SensorDeviceFactory

    devices = [SensorDeviceFactory() for _ in range(SENSORS)]
    series = [SensorSeries.objects.create(device=device, quantity="dry_bulb_c") for device in devices]
    _fill(series[:1])
    alone = {span: _seconds(series[0], days) for span, days in SPANS.items()}
    _fill(series[1:])
    kept = SensorReading.objects.count() + SensorMean.objects.count()
    yield Figure(
        f"rows kept ({kept:,}) of the {SENT:,} sent in a year", kept / SENT, "share", "0.02", kept / SENT <= 0.02
    )
    for span, days in SPANS.items():
        among = _seconds(series[0], days)
        yield Figure(f"{span} of one sensor as points", 1000 * among, "ms of processor", "100 or less", among <= 0.1)
        more = among / alone[span]
        yield Figure(f"{span}: among fifty / alone", more, "ratio", "1.5 or less", more <= 1.5)
    yield from _taken(series[0])


def _fill(series: Sequence[SensorSeries]) -> None:
    """What the rules leave of a year: single readings, ten-minute means, hourly means."""
    raw, tens = END - RAW_DAYS * DAY, END - TENS_DAYS * DAY
    for one in series:
        singles = (SensorReading(series=one, second=at, value=at % 60) for at in range(raw, END, EVERY_SECONDS))
        SensorReading.objects.bulk_create(singles, batch_size=5000)
        SensorMean.objects.bulk_create(_means(one, 10, tens, raw), batch_size=2000)
        SensorMean.objects.bulk_create(_means(one, 60, END - YEAR_DAYS * DAY, tens), batch_size=2000)


def _means(series: SensorSeries, minutes: int, begin: int, end: int) -> Iterator[SensorMean]:
    count = minutes * 60 // EVERY_SECONDS
    for at in range(begin, end, minutes * 60):
        yield SensorMean(series=series, minutes=minutes, second=at, count=count, mean=50, low=49, high=51)


def _seconds(series: SensorSeries, days: int, times: int = 5) -> float:
    begun = process_time()
    for _ in range(times):
        points(series.pk, END - days * DAY, END)
    return (process_time() - begun) / times


def _taken(series: SensorSeries) -> Iterator[Figure]:
    """A minute's message of ten readings, over and over, against the pace at which fifty sensors send them."""
    messages = 200
    begun = process_time()
    for number in range(messages):
        at = END + 60 * number
        rows = [{"quantity": "dry_bulb_c", "value": 50, "at": at + second} for second in range(0, 60, EVERY_SECONDS)]
        sensing.take(device=series.device, rows=rows, at=datetime.fromtimestamp(at + 60, tz=UTC))
    each = (process_time() - begun) / messages
    busy = each * SENSORS / 60
    yield Figure("one core taken up by fifty sensors sending", busy, "share", "0.1 or less", busy <= 0.1)
    begun = process_time()
    gone = sensing.thin(at=datetime.fromtimestamp(END + DAY, tz=UTC))
    spent = (process_time() - begun) / DAY
    yield Figure(f"one core taken up by thinning ({gone:,} rows a day)", spent, "share", "0.01 or less", spent <= 0.01)
