"""What a finished run came to: wood in and out, days, electricity, cost a cubic metre, each against its forecast."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np

from drying.outcome import Account, Deviation, deviations
from drying.wood import dried_m3, water_kg
from kilnruns.closing.energy import Energy, energy
from kilnruns.closing.rows import Rows, after, before
from kilnruns.models import Charge, ChargeStack


@dataclass(frozen=True, slots=True)
class Lot:
    """A stack that went through: green and dry volume m3, moisture % before and after (None: not read), water kg.
    `before_forecast`: no reading within two weeks, so the model's start stands for it."""

    item: ChargeStack
    green_m3: float
    dry_m3: float | None
    before_pct: float | None
    after_pct: float | None
    water_kg: float | None
    dry_kg: float
    before_forecast: bool = False


@dataclass(frozen=True, slots=True)
class Bill:
    """In the mill's currency: electricity, work (None where no hours or rate were given), the kiln's own cost over its
    life, all together, and by m3 of green wood and of dry wood."""

    energy: float
    labour: float | None
    kiln: float
    volume_m3: float
    dry_m3: float | None

    @property
    def total(self) -> float:
        return self.energy + (self.labour or 0.0) + self.kiln

    @property
    def per_m3(self) -> float:
        return self.total / self.volume_m3

    @property
    def per_dry_m3(self) -> float | None:
        return self.total / self.dry_m3 if self.dry_m3 else None


@dataclass(frozen=True, slots=True)
class Came:
    """A run's account. `deviations` hold days, electricity, cost a m3 and kWh a kg of water against the forecast kept
    with the charge; labour is in neither."""

    lots: tuple[Lot, ...]
    days: float
    forecast_days: float
    energy: Energy
    bill: Bill
    water_kg: float | None
    deviations: tuple[Deviation, ...]

    @property
    def green_m3(self) -> float:
        return sum(lot.green_m3 for lot in self.lots)

    @property
    def dry_m3(self) -> float | None:
        found = [lot.dry_m3 for lot in self.lots]
        return sum(one for one in found if one) if all(found) else None

    @property
    def before_pct(self) -> float | None:
        return _mean(self.lots, "before_pct")

    @property
    def after_pct(self) -> float | None:
        return _mean(self.lots, "after_pct")

    @property
    def kwh_per_m3(self) -> float:
        return self.energy.kwh / self.green_m3


def _mean(lots: Sequence[Lot], name: str) -> float | None:
    """By dry mass, over the lots that were read."""
    read = [(getattr(lot, name), lot.dry_kg) for lot in lots if getattr(lot, name) is not None]
    return float(np.average([one for one, _ in read], weights=[mass for _, mass in read])) if read else None


def came(rows: Rows) -> Came | None:
    """None before the run has ended."""
    if rows.began is None or rows.ended is None or not rows.items:
        return None
    charge, lots = rows.charge, tuple(_lot(rows, item) for item in rows.items)
    days = max((rows.ended - rows.began) / timedelta(days=1), 0.01)
    forecast = forecast_of(charge)
    power = energy(rows, forecast.electricity_kwh)
    known = [lot.water_kg for lot in lots]
    water = sum(one for one in known if one is not None) if all(one is not None for one in known) else None
    real = Account(
        days=min(days, 1000),
        electricity_kwh=power.kwh,
        volume_m3=forecast.volume_m3,
        water_kg=max(water, 0.0) if water is not None else forecast.water_kg,
        price_per_kwh=charge.kiln.price_per_kwh,
        cost_per_day=charge.kiln.cost_per_day,
    )
    dry = [lot.dry_m3 for lot in lots]
    bill = Bill(
        energy=power.kwh * charge.kiln.price_per_kwh,
        labour=_labour(rows),
        kiln=days * charge.kiln.cost_per_day,
        volume_m3=sum(lot.green_m3 for lot in lots),
        dry_m3=sum(one for one in dry if one) if all(dry) else None,
    )
    told = {"days"} | ({"electricity_kwh", "cost_per_m3"} if power.is_whole else set())
    told |= {"kwh_per_kg"} if power.is_whole and water is not None else set()
    against = tuple(one for one in deviations(forecast, real) if one.name in told)
    return Came(lots, days, forecast.days, power, bill, water, against)


def _labour(rows: Rows) -> float | None:
    costs = rows.costs
    if costs is None or costs.labour_hours is None or costs.hourly_rate is None:
        return None
    return costs.labour_hours * costs.hourly_rate


def _lot(rows: Rows, item: Any) -> Lot:
    wood, measured = item.stack.species, rows.of_stack(item.stack_id)
    end = measured.reading.moisture_pct if measured else after(item, rows.ended)
    begin = before(item, rows.began)
    assumed = begin is None
    if begin is None:
        begin = _forecast_start(rows.charge)
    water = None
    if begin is not None and end is not None:
        water = float(water_kg(item.volume_m3, wood.basic_density_kg_m3, begin, end))
    return Lot(
        item=item,
        green_m3=item.volume_m3,
        dry_m3=_dry_m3(item, end),
        before_pct=begin,
        after_pct=end,
        water_kg=water,
        dry_kg=item.volume_m3 * wood.basic_density_kg_m3,
        before_forecast=assumed and begin is not None,
    )


def _forecast_start(charge: Charge) -> float | None:
    curve = (charge.course.get("run") or {}).get("curve")
    return float(curve["mean_pct"][0]) if curve else None


def _dry_m3(item: Any, moisture_pct: float | None) -> float | None:
    """Volume after shrinking, by the species' volumetric shrinkage."""
    total = item.stack.species.shrinkage_volumetric_pct
    if moisture_pct is None or total is None:
        return None
    return float(dried_m3(item.volume_m3, total, moisture_pct))


def forecast_of(charge: Charge) -> Account:
    """What was forecast when the charge was accepted, conditioning included; the plan's own figures without a run."""
    run = charge.course.get("run") or {}
    closing = run.get("conditioning") or {}
    days, kwh, water = run.get("days"), run.get("heater_kwh"), run.get("water_kg")
    return Account(
        days=float(charge.days if days is None else days + closing.get("hours", 0) / 24),
        electricity_kwh=float(charge.energy_kwh if kwh is None else kwh + run["fan_kwh"] + closing.get("kwh", 0)),
        volume_m3=max(charge.volume_m3, 1e-3),
        water_kg=float(charge.water_kg if water is None else water),
        price_per_kwh=charge.kiln.price_per_kwh,
        cost_per_day=charge.kiln.cost_per_day,
    )
