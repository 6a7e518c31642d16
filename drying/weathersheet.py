"""A weather sheet, CSV, read into days: daily or several rows a day, each bad row told with its line number and why.

The form: a first line of names, then a row a day or several. Columns: `date` (2025-05-03 or 3.5.2025, with or without
a time, 24 hours; or the time in a column `time`), `temperature` (°C; °F where its name says so), `humidity` (relative,
%), and if there is one `rain` (mm; inches where its name says so). Other columns are passed over. Separated by ; , or
tab, decimals with point or comma (comma not where commas separate). Empty lines and lines that begin with # are too.

No clock: `today` is an argument, and later days are refused. Codes and figures only; words are made elsewhere. What a
sheet holds never raises ValueError: it is told as a `Fault`. The form is our own choice.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, time, tzinfo
from typing import Any

from drying import weather
from drying.sheets.cells import CellError, moment, number, ranged
from drying.sheets.columns import Columns, cells, columns, named

QUARTERS = 4  # of a day; a mean needs a row in each
MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Fault:
    """What was wrong in a line (0: with the sheet): a code, figures, the line as it was; `taken`: used all the same.

    Codes: empty, columns_missing, column_twice (the whole sheet); cells, no_date, bad_date, date_order, too_old,
    bad_time, future, no_value, bad_number, out_of_range, humidity_as_share, doubled, part_day; with rain alone
    (`taken`): the day counts, its rain not known.
    """

    line: int
    code: str
    figures: Mapping[str, Any] = field(default_factory=dict)
    text: str = ""
    taken: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """`days` in order of time; `faults` by line; `gaps`: first and last day of each missing stretch; `hourly`: days
    were averaged from several rows; `header`: the line of names; `rows`: how many lines held data."""

    days: tuple[weather.Day, ...]
    faults: tuple[Fault, ...]
    gaps: tuple[tuple[date, date], ...]
    hourly: bool
    header: str
    rows: int

    @property
    def refused(self) -> str:
        """The line of names and the lines that were not taken, to be mended and given again; "" when there is none."""
        lines = [fault.text for fault in self.faults if not fault.taken and fault.line]
        return "\n".join([self.header, *lines]) if lines else ""


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    text: str
    day: date
    clock: time | None
    temperature_c: float
    humidity_pct: float
    rain_mm: float | None


def read(text: str, today: date, zone: tzinfo | None = None) -> Sheet:
    """Read a sheet: °C, %, mm. Times with an offset from UTC are brought to `zone`; others are taken as local."""
    lines = list(_lines(text))
    if not lines:
        return Sheet((), (Fault(0, "empty"),), (), False, "", 0)
    (_, header), body = lines[0], lines[1:]
    layout = columns(header)
    if layout.missing or layout.doubled:
        code, names = ("columns_missing", layout.missing) if layout.missing else ("column_twice", layout.doubled)
        fault = Fault(0, code, {"names": names, "found": tuple(named(header))})
        return Sheet((), (fault,), (), False, header, len(body))
    rows, faults = _rows(body, layout, today, zone)
    hourly = len({row.day for row in rows}) < len(rows)
    days, parts = _days(rows, hourly)
    found = tuple(sorted([*faults, *parts], key=lambda fault: fault.line))
    return Sheet(days, found, tuple(weather.gaps(one.day for one in days)), hourly, header, len(body))


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """Number and text of each line that says something."""
    for at, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1):
        if line.strip(" \t;,") and not line.startswith("#"):
            yield at, line


def _rows(
    body: list[tuple[int, str]], layout: Columns, today: date, zone: tzinfo | None
) -> tuple[list[_Row], list[Fault]]:
    rows: dict[tuple[date, time | None], _Row] = {}
    faults: list[Fault] = []
    for line, text in body:
        try:
            row = _row(line, text, layout, zone, faults)
            if row.day > today:
                raise CellError("future", day=row.day)
            first = rows.setdefault((row.day, row.clock), row)
            if first is not row:
                raise CellError("doubled", day=row.day, clock=row.clock, of=first.line)
        except CellError as refused:
            faults.append(Fault(line, refused.code, refused.figures, text))
    return list(rows.values()), faults


def _row(line: int, text: str, layout: Columns, zone: tzinfo | None, faults: list[Fault]) -> _Row:
    row = cells(text, layout.delimiter)
    if len(row) < layout.count and any(at >= len(row) for kind, at in layout.at.items() if kind != "rain"):
        raise CellError("cells", found=len(row), wanted=layout.count)
    if any(row[layout.count :]):
        raise CellError("cells", found=len(row), wanted=layout.count)
    cell = {kind: row[at] if at < len(row) else "" for kind, at in layout.at.items()}
    day, clock = moment(cell["date"], cell.get("time", ""), zone)
    for kind in ("temperature", "humidity"):
        if not cell[kind]:
            raise CellError("no_value", kind=kind)
    degrees = number("temperature", cell["temperature"])
    celsius = round((degrees - 32) / 1.8, 2) if layout.fahrenheit else degrees
    temperature = ranged("temperature", celsius, weather.COLDEST_C, weather.HOTTEST_C, "°C")
    humidity = number("humidity", cell["humidity"])
    humidity = ranged("humidity", humidity, weather.DRIEST_PCT, weather.DAMPEST_PCT, "%")
    return _Row(line, text, day, clock, temperature, humidity, _rain(line, text, cell.get("rain", ""), layout, faults))


def _rain(line: int, text: str, cell: str, layout: Columns, faults: list[Fault]) -> float | None:
    """The rain; where it can't be read the rest of the row counts without it."""
    if cell in ("", "-", "–"):
        return None
    try:
        depth = number("rain", cell) * (MM_PER_INCH if layout.inches else 1)
        return ranged("rain", depth, 0, weather.MOST_RAIN_MM, "mm")
    except CellError as refused:
        faults.append(Fault(line, refused.code, refused.figures, text, taken=True))
        return None


def _days(rows: list[_Row], hourly: bool) -> tuple[tuple[weather.Day, ...], list[Fault]]:
    """One day each: a single row as it stands, several by their mean when they cover the day."""
    by_day: dict[date, list[_Row]] = {}
    for row in rows:
        by_day.setdefault(row.day, []).append(row)
    days: list[weather.Day] = []
    faults: list[Fault] = []
    for day in sorted(by_day):
        whole, timed = _parted(by_day[day], hourly, faults)
        if whole is not None:
            days.append(_day(whole.day, whole.temperature_c, whole.humidity_pct, whole.rain_mm))
        elif len({_quarter(row) for row in timed}) == QUARTERS:
            days.append(_mean(day, timed))
        else:
            faults += _part_day(day, timed)
    return tuple(days), faults


def _parted(rows: list[_Row], hourly: bool, faults: list[Fault]) -> tuple[_Row | None, list[_Row]]:
    """The row that stands for its day, or those with a time; a time beside a whole day's row is one too many."""
    whole = next((row for row in rows if row.clock is None), None if hourly else rows[0])
    timed = [row for row in rows if row is not whole]
    if whole is not None:
        for row in timed:
            faults.append(Fault(row.line, "doubled", {"day": row.day, "clock": None, "of": whole.line}, row.text))
    return whole, timed


def _quarter(row: _Row) -> int:
    return row.clock.hour * QUARTERS // 24 if row.clock else 0


def _mean(day: date, rows: list[_Row]) -> weather.Day:
    """Mean of the means of the day's quarters, so that a missing hour weighs little; rain is the sum."""
    temperatures, humidities = [], []
    for quarter in range(QUARTERS):
        inside = [row for row in rows if _quarter(row) == quarter]
        means = weather.mean_of_hours([row.temperature_c for row in inside], [row.humidity_pct for row in inside])
        temperatures.append(means[0])
        humidities.append(means[1])
    rain = [row.rain_mm for row in rows if row.rain_mm is not None]
    temperature, humidity = weather.mean_of_hours(temperatures, humidities)
    return _day(day, temperature, humidity, min(sum(rain), weather.MOST_RAIN_MM) if rain else None)


def _day(day: date, temperature_c: float, humidity_pct: float, rain_mm: float | None) -> weather.Day:
    return weather.Day(
        day, round(temperature_c, 2), round(humidity_pct, 2), None if rain_mm is None else round(rain_mm, 2)
    )


def _part_day(day: date, rows: list[_Row]) -> list[Fault]:
    hours = {"day": day, "first": min(row.clock for row in rows if row.clock), "count": len(rows)}
    hours["last"] = max(row.clock for row in rows if row.clock)
    return [Fault(row.line, "part_day", hours, row.text) for row in rows]


def write(days: list[weather.Day]) -> str:
    """The sheet of these days (°C, %, mm) in the form that `read` takes: decimals with a point, separated by commas."""
    lines = ["date,temperature_c,humidity_pct,rain_mm"]
    for one in days:
        rain = "" if one.rain_mm is None else f"{one.rain_mm:g}"
        lines.append(f"{one.day.isoformat()},{one.temperature_c:g},{one.relative_humidity_pct:g},{rain}")
    return "\n".join(lines) + "\n"
