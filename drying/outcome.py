"""What a finished run came to against its forecast: days, electricity, cost, water. Definitions alone, no model.

Figures out of range raise ValueError naming quantity, value and range.
"""

from dataclasses import dataclass

from drying.ranges import within


@dataclass(frozen=True, slots=True)
class Account:
    """A run's figures, as forecast or as found: days 0.01..1000, electricity 0..1e6 kWh, price 0..100 a kWh, fixed cost
    a day (kiln, labour) 0..1e6, green volume 0.001..1000 m3, water taken out 0..1e6 kg. Money in the yard's own."""

    days: float
    electricity_kwh: float
    volume_m3: float
    water_kg: float
    price_per_kwh: float = 0.0
    cost_per_day: float = 0.0

    def __post_init__(self) -> None:
        for name, low, high, unit in (
            ("days", 0.01, 1000, "days"),
            ("electricity_kwh", 0, 1e6, "kWh"),
            ("volume_m3", 1e-3, 1000, "m³"),
            ("water_kg", 0, 1e6, "kg"),
            ("price_per_kwh", 0, 100, "a kWh"),
            ("cost_per_day", 0, 1e6, "a day"),
        ):
            within(name, getattr(self, name), low, high, unit)

    @property
    def cost(self) -> float:
        """Electricity and days together."""
        return self.electricity_kwh * self.price_per_kwh + self.days * self.cost_per_day

    @property
    def cost_per_m3(self) -> float:
        return self.cost / self.volume_m3

    @property
    def kwh_per_kg(self) -> float | None:
        """Electricity per kg of water, None where none was taken out."""
        return self.electricity_kwh / self.water_kg if self.water_kg else None


@dataclass(frozen=True, slots=True)
class Deviation:
    """One figure against its forecast: `more_pct` is found over forecast less 100 % (None: nothing was forecast)."""

    name: str
    forecast: float
    found: float
    more_pct: float | None


def deviations(forecast: Account, found: Account) -> tuple[Deviation, ...]:
    """Days, kWh, cost per m3 and kWh per kg of water, found against forecast (definition: found/forecast - 1, %)."""
    pairs = {
        "days": (forecast.days, found.days),
        "electricity_kwh": (forecast.electricity_kwh, found.electricity_kwh),
        "cost_per_m3": (forecast.cost_per_m3, found.cost_per_m3),
        "kwh_per_kg": (forecast.kwh_per_kg or 0.0, found.kwh_per_kg or 0.0),
    }
    return tuple(
        Deviation(name, before, after, 100 * (after / before - 1) if before else None)
        for name, (before, after) in pairs.items()
    )
