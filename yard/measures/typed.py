"""Figures as people write them, in either system, read back exactly.

A figure comes back as it was typed: `text` writes the shortest text that `read` takes for the very same SI value, and
that takes a figure with more digits than its own system has use for (1.063 in) for the round one of the other that it
stands for (27 mm); so a form that is sent as it was shown changes nothing.
"""

import re
from fractions import Fraction
from math import floor, isclose

from django.utils.formats import get_format

from drying import units as exact
from yard.measures.quantities import FINEST, LENGTH, MM, SIZE, Measure, Unit

PARTS = (1, 2, 4, 8, 16, 32, 64)
"""Of an inch. Where whole mm are kept, what is finer than 1/16 in can't be told apart."""
_SIGNS = str.maketrans(
    {"’": "'", "′": "'", "‘": "'", "”": '"', "″": '"', "“": '"', "⁄": "/", "−": "-", "\u202f": " ", "\u00a0": " "}
)
_FIGURE = re.compile(r"(?P<sign>-?)(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<top>\d+)\s*/\s*(?P<under>\d{1,3})")
_FEET = re.compile(r"(?P<feet>\d+(?:\.\d+)?)\s*(?:ft|')\s*(?P<inches>\S.*?)\s*(?:in|\")?", re.IGNORECASE)
_TAIL = re.compile(r"(?P<figure>.*[\d.])\s*(?P<unit>[^\d\s./][^/]*)")


def plain_text(text: str) -> str:
    """With a point for the locale's decimal sign, no thousands signs, plain quotes. Either sign alone is a decimal one,
    unless it parts groups of three as this locale writes thousands."""
    text = text.translate(_SIGNS).strip()
    thousands = "." if get_format("DECIMAL_SEPARATOR") == "," else ","
    grouped = re.compile(rf"(?<![\d.,])[1-9]\d{{0,2}}(?:[ '{thousands}]\d{{3}})+(?![\d/])(?!\s*/)")
    text = grouped.sub(lambda match: re.sub(rf"[ '{thousands}]", "", match[0]), text)
    return text.replace(",", ".")


def number(text: str) -> tuple[float, int | None] | None:
    """A figure and its decimals, None for a fraction (1 1/8, 1-1/8, 5/4); None for no figure."""
    found = _FIGURE.fullmatch(text)
    if found and int(found["under"]):
        value = int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["under"]))
        return float(-value if found["sign"] else value), None
    if not re.fullmatch(r"-?(\d+(\.\d*)?|\.\d+)", text):
        return None
    return float(text), len(text.partition(".")[2])


def parted(text: str, measure: Measure) -> tuple[str, Unit | None]:
    """A figure and the unit that was typed behind it."""
    tail = _TAIL.fullmatch(text)
    unit = measure.named(tail["unit"]) if tail else None
    return (tail["figure"].strip(), unit) if tail and unit else (text, None)


def read(text: str, measure: Measure, system: str) -> float | None:
    """The SI value of what was typed; None where it is no figure. A bare one is in `system`'s unit."""
    text = plain_text(text)
    feet = _FEET.fullmatch(text) if measure in (SIZE, LENGTH) else None
    if feet and (inches := number(feet["inches"])):
        mm = float(feet["feet"]) * exact.MM_PER_FOOT + inches[0] * MM
        return mm if measure is SIZE else mm / 1000
    figure, unit = parted(text, measure)
    found = number(figure)
    return None if found is None else _meant(*found, unit or measure.unit(system), measure)


def _meant(figure: float, decimals: int | None, unit: Unit, measure: Measure) -> float:
    si = unit.si(figure)
    if decimals is None or decimals <= unit.decimals or (unit.fractions and (figure * FINEST).is_integer()):
        return si
    round_one = measure.other(unit).nearest(si)
    half = 0.5 * 10.0**-decimals * unit.step()
    return round_one if abs(round_one - si) <= half * (1 + 1e-6) else si


def text(si: float, measure: Measure, system: str, *, whole: bool = False, feet: bool = False) -> str:
    """The shortest figure that `read` takes for this very value (or its whole number), in the locale's decimal sign."""
    unit = measure.unit(system)

    def says(said: str) -> bool:
        value = read(said, measure, system)
        return value is not None and (round(value) == si if whole else isclose(value, si, rel_tol=1e-12))

    if unit.fractions:
        for under in PARTS[:6] if whole else PARTS:
            said = inches(Fraction(round(unit.of(si) * under), under), feet=feet)
            if says(said):
                return said
    local = get_format("DECIMAL_SEPARATOR")
    said = ""
    for decimals in range(16):
        said = _decimal(unit.of(si), decimals).replace(".", local)
        if says(said):
            break
    return said


def _decimal(figure: float, decimals: int) -> str:
    said = f"{figure:.{decimals}f}"
    return "0" if float(said) == 0 else said


def inches(size: Fraction, *, feet: bool = False) -> str:
    """Inches as a rule shows them: 1 1/8; with `feet` 8' 6 1/2"."""
    whole, part = floor(size), size - floor(size)
    if feet and whole >= 12:
        rest = inches(size - whole // 12 * 12)
        return f"{whole // 12}'" + ("" if rest == "0" else f' {rest}"')
    if feet:
        return f'{inches(size)}"'
    return " ".join([*([str(whole)] if whole or not part else []), *([str(part)] if part else [])])
