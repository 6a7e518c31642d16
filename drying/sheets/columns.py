"""Which column of a weather sheet is which: by the names in its first line."""

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

NAMES = {
    "date": {"date", "day", "datetime", "timestamp"},
    "time": {"time", "hour"},
    "temperature": {"temperature", "temp", "t"},
    "humidity": {"humidity", "rh"},
    "rain": {"rain", "rainfall", "precipitation", "precip"},
}
NEEDED = ("date", "temperature", "humidity")
_OTHER = {"dew", "wet", "max", "min", "maximum", "minimum", "highest", "lowest", "feels", "indoor", "soil"}
_FAHRENHEIT, _INCHES = {"f", "°f", "fahrenheit"}, {"in", "inch", "inches"}


@dataclass(frozen=True, slots=True)
class Columns:
    """Delimiter, number of columns, and where each known one stands; `missing` and `doubled` name what is wrong."""

    delimiter: str
    count: int
    at: Mapping[str, int]
    fahrenheit: bool
    inches: bool
    missing: tuple[str, ...]
    doubled: tuple[str, ...]


def cells(line: str, delimiter: str) -> list[str]:
    """The cells of one line, quotes and outer blanks off."""
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]


def columns(header: str) -> Columns:
    """Read the line of names. A unit may follow a name, in brackets or not: "Temperature (°F)", "rain_mm"."""
    delimiter = next((sign for sign in (";", "\t") if sign in header), ",")
    words = [_words(name) for name in cells(header, delimiter)]
    found = {kind: [i for i, one in enumerate(words) if _is(kind, one)] for kind in NAMES}
    # "date time" in one column is a date with its time
    found["time"] = [i for i in found["time"] if i not in found["date"]] if found["date"] else []
    if not found["date"]:
        found["date"] = [i for i, one in enumerate(words) if "time" in one]
    at = {kind: places[0] for kind, places in found.items() if places}
    return Columns(
        delimiter=delimiter,
        count=len(words),
        at=at,
        fahrenheit="temperature" in at and bool(words[at["temperature"]] & _FAHRENHEIT),
        inches="rain" in at and bool(words[at["rain"]] & _INCHES),
        missing=tuple(kind for kind in NEEDED if kind not in at),
        doubled=tuple(kind for kind, places in found.items() if len(places) > 1),
    )


def _words(name: str) -> set[str]:
    return set(re.findall(r"°?[a-z]+", name.lower()))


def _is(kind: str, words: set[str]) -> bool:
    return bool(words & NAMES[kind]) and not words & _OTHER


def named(header: str) -> Sequence[str]:
    """The names as written, for a message."""
    return cells(header, columns(header).delimiter)
