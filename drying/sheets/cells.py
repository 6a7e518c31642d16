"""Cells of a weather sheet: dates and times, and numbers with point or comma. What is wrong is raised as CellError."""

import math
import re
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Any

OLDEST_YEAR = 1950
_DATE = r"(?:(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})|(?P<d2>\d{1,2})\.\s?(?P<m2>\d{1,2})\.\s?(?P<y2>\d{4}))"
_TIME = r"(?P<hour>\d{1,2})(?::(?P<minute>\d{2})(?::\d{2}(?:\.\d+)?)?)?"
_ZONE = r"\s?(?P<zone>Z|[+-]\d{2}:?\d{2})?"
_MOMENT = re.compile(rf"{_DATE}(?:(?:T|\s+){_TIME}{_ZONE})?")
_CLOCK = re.compile(_TIME + _ZONE)
_UNITS = re.compile(r"\s*(?:°?\s?[CF]|%|mm|in)\Z")


class CellError(ValueError):
    """A cell that can't be read: `code` says why, `figures` with what."""

    def __init__(self, code: str, **figures: Any) -> None:
        super().__init__(code)
        self.code, self.figures = code, figures


def moment(text: str, clock: str, zone: tzinfo | None) -> tuple[date, time | None]:
    """Day and time of day (None where none is given) of "2025-05-03", "3.5.2025 14:00", "2025-05-03T12:00Z" ...

    `clock` is the cell of a column of times, "" for none. A time with an offset is brought to `zone`.
    """
    if not text:
        raise CellError("no_date")
    found = _MOMENT.fullmatch(text)
    if not found:
        raise CellError("date_order" if re.fullmatch(r"\d{1,4}/\d{1,2}/\d{1,4}.*", text) else "bad_date", text=text)
    day = _day(found, text)
    if found["hour"] is None and clock:
        found = _CLOCK.fullmatch(clock)
        if not found:
            raise CellError("bad_time", text=clock)
    if found["hour"] is None:
        return day, None
    return _at(day, found, zone, clock or text)


def _day(found: re.Match[str], text: str) -> date:
    year, month, day = (int(found[name] or found[f"{name}2"]) for name in "ymd")
    try:
        made = date(year, month, day)
    except ValueError:
        raise CellError("bad_date", text=text) from None
    if year < OLDEST_YEAR:
        raise CellError("too_old", text=text, year=OLDEST_YEAR)
    return made


def _at(day: date, found: re.Match[str], zone: tzinfo | None, text: str) -> tuple[date, time]:
    hour, minute = int(found["hour"]), int(found["minute"] or 0)
    if hour > 24 or minute > 59 or (hour == 24 and minute):
        raise CellError("bad_time", text=text)
    at = datetime.combine(day, time()) + timedelta(hours=hour, minutes=minute)  # 24:00 is the next day's 0:00
    if found["zone"] and zone is not None:
        offset = found["zone"].replace("Z", "+00:00").replace(":", "")
        stamp = datetime.strptime(f"{at:%Y-%m-%d %H:%M}{offset}", "%Y-%m-%d %H:%M%z")
        at = stamp.astimezone(zone)
    return at.date(), at.time().replace(tzinfo=None)


def number(kind: str, text: str) -> float:
    """A number with a point or a comma, its unit behind it let pass."""
    plain = _UNITS.sub("", text.replace("\u2212", "-").replace("\u00a0", " ").strip()).replace(",", ".")
    try:
        value = float(plain)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise CellError("bad_number", kind=kind, text=text)
    return value


def ranged(kind: str, value: float, low: float, high: float, unit: str) -> float:
    """The value, when it lies in its range."""
    if not low <= value <= high:
        code = "humidity_as_share" if kind == "humidity" and 0 < value < 1 else "out_of_range"
        raise CellError(code, kind=kind, value=value, low=low, high=high, unit=unit)
    return value
