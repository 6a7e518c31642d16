"""Measured figures as their reader wants them: metric, or inches, board feet, pounds and °F ."""

from fractions import Fraction
from math import ceil, floor

from django.utils.formats import number_format

from yard.measures import quantities as of
from yard.measures.quantities import FINEST, MM, Measure
from yard.measures.system import imperial
from yard.measures.typed import inches as plain_inches

NARROW_SPACE = "\u202f"
NO_BREAK = "\u00a0"
NOTHING = "–"

SAME_MM = 0.02
"""A size this near to a sixty-fourth of an inch was sawn to it."""
QUARTERS = range(4, 17)


def number(value: float, decimals: int = 0) -> str:
    """The figure in the locale's digits; never "-0"."""
    rounded = round(float(value), decimals)
    return number_format(rounded or 0.0, decimals, use_l10n=True, force_grouping=True)


def with_unit(value: float | None, decimals: int, unit: str) -> str:
    return NOTHING if value is None else f"{number(value, decimals)}{NARROW_SPACE}{unit}"


def told(value: float | None, decimals: int, measure: Measure, imperial_decimals: int = 0) -> str:
    """A figure with its unit; `decimals` are the metric ones."""
    unit = measure.unit()
    return with_unit(
        None if value is None else unit.of(float(value)), imperial_decimals if imperial() else decimals, unit.name
    )


def figure(value: float | None, decimals: int, measure: Measure, imperial_decimals: int = 0) -> str:
    """The figure alone, where its unit stands at the column's head."""
    if value is None:
        return NOTHING
    return number(measure.unit().of(float(value)), imperial_decimals if imperial() else decimals)


def inches(size: Fraction, *, feet: bool = False) -> str:
    """As `typed.inches`, never parted at a line's end."""
    return plain_inches(size, feet=feet).replace(" ", NO_BREAK)


def size(value_mm: float, finest: int = 16) -> str:
    """Inches: "5 1/2 in"; a size that is no part of an inch with decimals, "1.06 in"."""
    exact = Fraction(round(value_mm / MM * FINEST), FINEST)
    if abs(float(exact) * MM - value_mm) <= SAME_MM and exact:
        return f"{inches(exact)}{NARROW_SPACE}in"
    near = Fraction(round(value_mm / MM * finest), finest)
    if float(value_mm).is_integer() and value_mm >= 40 and round(float(near) * MM) == value_mm:
        return f"{inches(near)}{NARROW_SPACE}in"
    return with_unit(value_mm / MM, 2 if abs(value_mm) >= 2 or not value_mm else 3, "in")


def size_up(value_mm: float, finest: int = 16) -> float:
    """The next size in mm that a saw of its reader's units is set to: whole mm, or parts of an inch; never less."""
    step = MM / finest if imperial() else 1
    return ceil((value_mm - SAME_MM) / step) * step


def size_down(value_mm: float, *, tenths: bool = False) -> float:
    """The size in mm that may be promised of this one: whole mm or tenths, or sixteenths of an inch; never more."""
    if imperial():
        return floor((value_mm + SAME_MM) / MM * 16) * MM / 16
    return floor(value_mm * 10) / 10 if tenths else floor(value_mm)


def thickness(value_mm: float) -> str:
    """A sawn board's thickness: whole quarters as the trade says them, "5/4"; else inches."""
    quarters = value_mm / MM * 4
    whole = round(quarters)
    if whole in QUARTERS and abs(quarters - whole) * MM / 4 <= SAME_MM:
        return f"{whole}/4"
    return size(value_mm)


def length(value_mm: float, whole_inches: bool = False) -> str:
    """A board's length: 8' 6"."""
    finest = 1 if whole_inches else 16
    return inches(Fraction(round(value_mm / MM * finest), finest), feet=True)


def unit_of(name: str) -> str:
    """The reader's unit in the place of a metric one."""
    measure = of.of_unit(name)
    return measure.unit().name if measure else name


def mm(value: float | None, decimals: int | None = None) -> str:
    """A size: "27 mm", "25.6 mm", decimals only where there are any; "5 1/2 in"."""
    if value is not None and imperial():
        return size(float(value))
    whole = value is None or float(value).is_integer()
    return with_unit(value, (0 if whole else 1) if decimals is None else int(decimals), "mm")


def mm_to(low: float, high: float) -> str:
    """Two sizes: "25.4–26.2 mm"; "1–1 1/32 in"."""
    first = size(float(low)).removesuffix(f"{NARROW_SPACE}in") if imperial() else number(low, 1)
    return f"{first}–{mm(high, 1)}"


def thick(value: float | None) -> str:
    """A sawn thickness: "27 mm"; "5/4", "1 1/8 in"."""
    return thickness(float(value)) if value is not None and imperial() else mm(value)


def metres(value_mm: float | None, decimals: int = 2) -> str:
    """A length in mm: 4100 as "4.10 m", or 13' 5 7/16"."""
    if value_mm is not None and imperial():
        return length(float(value_mm), int(decimals) < 2)
    return with_unit(None if value_mm is None else value_mm / 1000, int(decimals), "m")


def length_in_drawing(value_mm: float) -> str:
    """Short, for a drawing whose words say what it is: "2.40" in m; 7' 10"."""
    return length(float(value_mm), whole_inches=True) if imperial() else number_format(value_mm / 1000, 2)


def sides(*sizes_mm: float | None) -> str:
    """Thickness, width, length as far as they are known: "27 × 160 × 2400 mm"; "1 1/8 × 6 × 96 in".

    Inches are all as a rule shows them: what is no part of an inch by its nearest sixteenth.
    """
    known = [float(one) for one in sizes_mm if one]
    if imperial():
        return " × ".join(inches(_on_a_rule(one)) for one in known) + f"{NARROW_SPACE}in"
    return " × ".join(f"{one:g}" for one in known) + f"{NARROW_SPACE}mm"


def _on_a_rule(value_mm: float) -> Fraction:
    exact = Fraction(round(value_mm / MM * FINEST), FINEST)
    if abs(float(exact) * MM - value_mm) <= SAME_MM:
        return exact
    return max(Fraction(round(value_mm / MM * 16), 16), Fraction(1, FINEST))


def m3(value: float | None, decimals: int = 2) -> str:
    """Sawn wood: "1.72 m³", "729 bd ft"."""
    return told(value, int(decimals), of.VOLUME, 1 if value and value < of.VOLUME.imperial.per * 10 else 0)


def round_m3(value: float | None, decimals: int = 2) -> str:
    """Round wood and room for air: "1.72 m³", "60.7 ft³"."""
    return told(value, int(decimals), of.ROUND_WOOD, 1)


def kg(value: float | None, decimals: int = 0) -> str:
    """A mass: "980 kg", "2,161 lb"."""
    return told(value, int(decimals), of.MASS, int(decimals))


def celsius(value: float | None, decimals: int = 0) -> str:
    """A temperature in °C: "54 °C", "129 °F"."""
    return told(value, int(decimals), of.TEMPERATURE, int(decimals))


def kelvin(value: float | None, decimals: int = 0) -> str:
    """A difference of temperatures in K: 5 as "5 °C", "9 °F"."""
    degrees = None if value is None else of.DIFFERENCE.unit().of(float(value))
    return with_unit(degrees, int(decimals), "°F" if imperial() else "°C")
