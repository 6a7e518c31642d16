"""Rules of thumb and limits in sentences: their metric figures in the reader's units, rounded as such figures are.

"Stay 300 mm from the ends" is "12 in", "15 to 100 mm" is "5/8 to 4 in". Only for sentences whose figures are round
themselves; what is measured or reckoned is told by `told`.
"""

import re
from collections.abc import Callable
from fractions import Fraction

from yard.measures.quantities import ALTITUDE, MASS, MM, TEMPERATURE
from yard.measures.system import imperial
from yard.measures.told import NARROW_SPACE, inches, number

_FIGURE = r"[−-]?(?:\d{1,3}(?:[.,\u202f\u00a0 ]\d{3})+(?!\d)|\d+(?:[.,]\d+)?)"
_MEASURED = re.compile(
    rf"(?P<low>{_FIGURE})(?P<to> (?:to|bis|till|and|und|och) (?P<high>{_FIGURE}))?"
    r"[ \u202f\u00a0](?P<unit>mm|°C|kg|m)(?![\w/²³])"
)


def _inches(mm: float) -> str:
    parts = 1 if mm >= 100 else 8
    return inches(Fraction(round(mm / MM * parts), parts))


def _feet(m: float) -> str:
    return number(ALTITUDE.imperial.of(m), -2 if m >= 500 else 0)


_TOLD: dict[str, tuple[Callable[[float], str], str]] = {
    "mm": (_inches, "in"),
    "°C": (lambda c: number(TEMPERATURE.imperial.of(c)).replace("-", "−"), "°F"),
    "kg": (lambda kg: number(MASS.imperial.of(kg)), "lb"),
    "m": (_feet, "ft"),
}


def in_reader_units(text: str) -> str:
    """A sentence as it stands for who reads metric."""
    return _MEASURED.sub(_said, str(text)) if imperial() else str(text)


def _said(found: re.Match[str]) -> str:
    tell, unit = _TOLD[found["unit"]]
    low, to, high = found["low"], found["to"] or "", found["high"]
    if high:
        to = to.removesuffix(high) + tell(_value(high))
    return f"{tell(_value(low))}{to}{NARROW_SPACE}{unit}"


def _value(figure: str) -> float:
    plain = figure.replace("−", "-")
    if re.fullmatch(r"-?\d{1,3}([.,\u202f\u00a0 ]\d{3})+", plain):
        return float(re.sub(r"[^\d-]", "", plain))
    return float(plain.replace(",", "."))
