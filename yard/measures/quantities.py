"""Measured quantities, each with its metric and its imperial unit.

Factors: NIST SP 811 (2008) Appendix B.8 and NIST Handbook 44 Appendix C, all exact: inch, foot, pound, °F; a board foot
is 144 in³ (from memory of the handbook's table).
"""

from dataclasses import dataclass, field

from drying import units as exact
from yard.measures.system import IMPERIAL, told

MM = exact.MM_PER_INCH
M_PER_FOOT = exact.MM_PER_FOOT / 1000
FINEST = 64
"""A rule's smallest part of an inch."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: SI value = figure x `per` + `zero`. Figures of `decimals` (or in 1/64) are its own round ones."""

    name: str
    """Words in it are parted by a space that no line is broken at."""
    per: float = 1.0
    zero: float = 0.0
    decimals: int = 1
    fractions: bool = False
    inverse: bool = False
    """A price a unit of volume: more a m³ is less a board foot by the volumes' ratio."""

    def si(self, figure: float) -> float:
        return round(figure / self.per if self.inverse else figure * self.per + self.zero, 10)

    def of(self, si: float) -> float:
        return si * self.per if self.inverse else (si - self.zero) / self.per

    def step(self) -> float:
        """One of its units, in SI."""
        return 1 / self.per if self.inverse else self.per

    def nearest(self, si: float) -> float:
        """The SI value of this unit's round figure next to one."""
        return self.si(round(self.of(si) * FINEST) / FINEST if self.fractions else round(self.of(si), self.decimals))


@dataclass(frozen=True, slots=True, eq=False)
class Measure:
    """A quantity with its two units, and what else is understood where it is typed with a unit of its own."""

    metric: Unit
    imperial: Unit
    others: dict[str, Unit] = field(default_factory=dict)

    def unit(self, system: str | None = None) -> Unit:
        return self.imperial if (system or told()) == IMPERIAL else self.metric

    def named(self, name: str) -> Unit | None:
        """The unit that somebody typed behind a figure."""
        known = {self.metric.name: self.metric, self.imperial.name: self.imperial, **self.others}
        return {_plain(key): unit for key, unit in known.items()}.get(_plain(name))

    def other(self, unit: Unit) -> Unit:
        return self.metric if unit is self.imperial else self.imperial


def _plain(name: str) -> str:
    return " ".join(name.lower().split())


_MM = Unit("mm", decimals=1)
_INCH = Unit("in", MM, decimals=2, fractions=True)
_LENGTHS = {
    "mm": _MM,
    "cm": Unit("cm", 10),
    "m": Unit("m", 1000, decimals=3),
    "in": _INCH,
    '"': _INCH,
    "ft": Unit("ft", exact.MM_PER_FOOT, decimals=2),
    "'": Unit("ft", exact.MM_PER_FOOT, decimals=2),
}
_CELSIUS = Unit("°C")
_FAHRENHEIT = Unit("°F", 1 / 1.8, -32 / 1.8)
_BOARD_FOOT = Unit("bd\u00a0ft", exact.M3_PER_BOARD_FOOT)
_CUBIC_FOOT = Unit("ft³", M_PER_FOOT**3, decimals=2)
_CUBIC_METRE = Unit("m³", decimals=3)
_VOLUMES = {"m3": _CUBIC_METRE, "bf": _BOARD_FOOT, "board feet": _BOARD_FOOT, "ft3": _CUBIC_FOOT, "ft³": _CUBIC_FOOT}
_METRE, _FOOT = Unit("m", decimals=3), Unit("ft", M_PER_FOOT, decimals=2)

SIZE = Measure(_MM, _INCH, _LENGTHS)
LENGTH = Measure(_METRE, _FOOT, {"cm": Unit("cm", 0.01), "in": Unit("in", MM / 1000, decimals=2)})
AREA = Measure(Unit("m²", decimals=2), Unit("ft²", M_PER_FOOT**2))
VOLUME = Measure(_CUBIC_METRE, _BOARD_FOOT, _VOLUMES)
ROUND_WOOD = Measure(_CUBIC_METRE, _CUBIC_FOOT, _VOLUMES)
MASS = Measure(Unit("kg"), Unit("lb", exact.KG_PER_POUND))
TEMPERATURE = Measure(_CELSIUS, _FAHRENHEIT, {"c": _CELSIUS, "f": _FAHRENHEIT, "°": _CELSIUS})
DIFFERENCE = Measure(Unit("K"), Unit("°F", 1 / 1.8))
"""A difference of temperatures, as a wet-bulb depression: 5 K are 9 °F."""
ALTITUDE = Measure(Unit("m", decimals=0), Unit("ft", M_PER_FOOT, decimals=0))
AIR_SPEED = Measure(Unit("m/s", decimals=2), Unit("ft/min", M_PER_FOOT / 60, decimals=0))
DENSITY = Measure(Unit("kg/m³"), Unit("lb/ft³", exact.KG_PER_POUND / M_PER_FOOT**3, decimals=2))
PRICE = Measure(Unit("m³", decimals=2), Unit("bd\u00a0ft", exact.M3_PER_BOARD_FOOT, decimals=2, inverse=True))

BY_UNIT = {
    "mm": SIZE,
    "m": LENGTH,
    "m²": AREA,
    "m³": VOLUME,
    "kg": MASS,
    "°C": TEMPERATURE,
    "K": DIFFERENCE,
    "m/s": AIR_SPEED,
    "kg/m³": DENSITY,
}
"""Grams, kW, kWh and W/m²K stay: scales, meters and heat tables of either land bear them."""


def of_unit(unit: object) -> Measure | None:
    return BY_UNIT.get(str(unit))
