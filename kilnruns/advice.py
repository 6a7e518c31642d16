"""What to run a charge by: the schedule in the kiln's own terms, and what the model expects of the run."""

from collections.abc import Sequence
from datetime import date
from typing import Any, Protocol

import numpy as np

from drying import wood
from drying.heat import KilnRun, Parcel, Phase, kiln_run
from drying.sampleboards import Sampled, choose
from drying.schedules import Schedule, finish, mildest
from kilnruns.models import Charge, Kiln
from kilnruns.planning import learned
from kilnruns.planning.chambers import chamber
from kilnruns.planning.durations import SPREAD, schedule_of, season
from kilnruns.planning.groups import Groups
from kilnruns.planning.own_steps import own_schedule, rows
from yard import outlook
from yard.models import Place, Stack

CURVE_POINTS = 40
CLOSING = ("equalise_pct", "equalise_from_driest_pct", "condition_pct")


class Load(Protocol):
    """A proposal or a charge."""

    kiln: Kiln
    start_on: date
    target_pct: float


class Item(Protocol):
    """How much of a stack goes into a load."""

    stack: Stack
    volume_m3: float


def schedule(kiln: Kiln, stacks: Sequence[Stack]) -> Schedule:
    """The mildest of the stacks' schedules, as this kiln can run it."""
    groups = Groups.read()
    return mildest([schedule_of(stack, kiln, groups) for stack in stacks])


def course(load: Load, items: Sequence[Item]) -> dict[str, Any]:
    """Schedule, closing steps and the predicted run of a load, as plain data to keep with its charge."""
    stacks = [item.stack for item in items]
    given = schedule(load.kiln, stacks)
    classes = {stack.species.wood_class for stack in stacks}
    closing = finish(load.target_pct, "hardwood" if "hardwood" in classes else "softwood")  # as kiln_run reckons it
    return {
        "code": given.code,
        "source": given.source,
        "from_memory": given.from_memory,
        "notes": list(given.notes),
        "steps": rows(given.steps, load.kiln.place.altitude_m),
        "equalise_pct": closing.equalise_pct,
        "equalise_from_driest_pct": closing.driest_pct,
        "condition_pct": closing.condition_pct,
        "run": predicted(load, items, given),
    }


def rewritten(course: dict[str, Any], steps: list[dict[str, Any]], closing: dict[str, float]) -> dict[str, Any]:
    """A charge's course with other steps and closing; what was proposed stays beside it, to be restored."""
    proposed = course.get("proposed") or {"steps": course["steps"], "closing": closing_of(course)}
    return {**course, "steps": steps, **closing, "proposed": proposed}


def closing_of(course: dict[str, Any]) -> dict[str, float]:
    """The figures of the closing steps that a course has."""
    return {name: course[name] for name in CLOSING if course.get(name) is not None}


def predicted_of(charge: Charge) -> dict[str, Any]:
    """The model's run of a charge by the steps that it keeps."""
    return predicted_by(charge, charge.course["steps"])


def predicted_by(charge: Charge, steps: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """The model's run of a charge by other steps, from its first day: what would follow from them."""
    items = list(charge.stacks.select_related("stack__species", "stack__outlook"))
    return predicted(charge, items, own_schedule(steps, charge.kiln))


def predicted(load: Load, items: Sequence[Item], given: Schedule) -> dict[str, Any]:
    """The model's run of this load from the forecast moistures on its first day; {} when nothing is to be dried."""
    parcels = [parcel for item in items if (parcel := _parcel(item, load.start_on)) is not None]
    if not parcels or max(parcel.moisture_pct for parcel in parcels) <= load.target_pct:
        return {}
    air = season(list(Place.objects.outdoors()), load.start_on)
    factor = learned.factors().get(load.kiln.pk, 1.0)
    run = kiln_run(chamber(load.kiln, factor), parcels, given, load.target_pct, air.temperature_c, air.humidity_pct)
    return _told(run) | _band(run, load.kiln) | {"rate_factor": factor, "curve": _curve(run, parcels)}


def _parcel(item: Item, on: date) -> Parcel | None:
    stack = item.stack
    if not hasattr(stack, "outlook"):
        return None
    return Parcel(
        wood=outlook.wood(stack.species),
        thickness_mm=stack.thickness_mm,
        volume_m3=item.volume_m3,
        moisture_pct=stack.outlook.moisture_on(on)[1],
        drying_group=stack.species.drying_group,
        safe_25mm_pct_per_day=stack.species.safe_rate_pct_per_day,
    )


def _told(run: KilnRun) -> dict[str, Any]:
    return {
        "reached": run.reached,
        "days": round(run.days, 1) if run.reached else None,
        "days_by_step": [round(hours / 24, 1) for hours in run.hours_by_step],
        "ruled_by_step": _ruled_by_step(run, len(run.hours_by_step)),
        "water_kg": round(run.water_kg),
        "heater_kwh": round(run.heater_kwh),
        "fan_kwh": round(run.fan_kwh),
        "peak_kw": round(run.peak_kw, 1),
        "limits": {name: round(share, 2) for name, share in run.limits.items()},
        "risk": {name: round(value, 2) for name, value in run.risk.items()},
        "conditioning": _conditioning(run),
        "not_held": [_off(one) for one in run.phases if not one.is_held],
    }


def _off(one: Phase) -> dict[str, Any]:
    """What was called for and what was held; the step counts from 1, 0 while equalising."""
    return {
        "step": one.step + 1 if one.kind == "step" else 0,
        "days": round(one.hours / 24, 1),
        "called_c": round(one.called_c, 1),
        "held_c": round(one.held_c, 1),
        "called_emc_pct": round(one.called_emc_pct, 1),
        "held_emc_pct": round(one.held_emc_pct, 1),
    }


def _band(run: KilnRun, kiln: Kiln) -> dict[str, Any]:
    """Days, kWh and cost, four times in five: the spread of the days as in plans; what a day costs goes with them."""
    if not run.reached:
        return {}
    by_day = run.energy_kwh["walls"]
    once = run.heater_kwh + run.fan_kwh - by_day
    shares = {"low": 1 / SPREAD, "usual": 1.0, "high": SPREAD}
    kwh = {name: once + by_day * share for name, share in shares.items()}
    days = {name: run.days * share for name, share in shares.items()}
    cost = {name: days[name] * kiln.cost_per_day + kwh[name] * kiln.price_per_kwh for name in shares}
    return {"band": {"days": _rounded(days, 1), "kwh": _rounded(kwh), "cost": _rounded(cost)}}


def _rounded(figures: dict[str, float], decimals: int | None = None) -> dict[str, float]:
    return {name: round(value, decimals) for name, value in figures.items()}


def _ruled_by_step(run: KilnRun, count: int) -> list[str]:
    """What ruled most of each step's time; empty for a step that it does not come to."""
    lasted = np.diff(np.append(0.0, run.hours))
    step = np.searchsorted(np.cumsum(run.hours_by_step), run.hours - lasted / 2, side="right")
    found = []
    for index in range(count):
        hours: dict[str, float] = {}
        for name, time in zip(np.array(run.ruled)[step == index], lasted[step == index], strict=True):
            hours[str(name)] = hours.get(str(name), 0.0) + float(time)
        found.append(max(hours, key=lambda name: hours[name]) if hours else "")
    return found


def _conditioning(run: KilnRun) -> dict[str, Any] | None:
    """Hours and kWh of conditioning by the book, or (0 hours) how damp this kiln's air can be at the end."""
    found = run.conditioning
    if found is None:
        return None
    return {
        "hours": round(found.hours),
        "kwh": round(found.heater_kwh + found.fan_kwh),
        "held_emc_pct": round(found.held_emc_pct, 1),
        "notes": list(found.notes),
    }


def _curve(run: KilnRun, parcels: Sequence[Parcel]) -> dict[str, list[float]]:
    """Days and the charge's mean moisture (%, by dry mass), to hold the measured run against; the start first."""
    weights = [parcel.volume_m3 * parcel.wood.basic_density_kg_m3 for parcel in parcels]
    first = np.average([parcel.moisture_pct for parcel in parcels], weights=weights)
    days = np.concatenate([[0.0], run.hours / 24])
    means = np.concatenate([[first], np.average(run.moisture_pct, axis=0, weights=weights)])
    wanted = np.linspace(0, days[-1], CURVE_POINTS)
    found = np.interp(wanted, days, means)
    return {"days": [round(float(day), 2) for day in wanted], "mean_pct": [round(float(one), 2) for one in found]}


def sample_boards(items: Sequence[Item], on: date) -> list[tuple[Stack, list[str]]]:
    """Each stack that is to have sample boards, with the reason of each board: wettest, slowest, driest, share."""
    known = {item.stack.code: item for item in items if hasattr(item.stack, "outlook") and item.volume_m3 > 0}
    if not known:
        return []
    given = [
        Sampled(
            code,
            max(float(item.stack.outlook.moisture_on(on)[1]), 1.0),
            item.stack.thickness_mm,
            item.volume_m3,
            item.stack.species.rate,
        )
        for code, item in known.items()
    ]
    reasons: dict[str, list[str]] = {}
    for code, why in choose(given):
        reasons.setdefault(code, []).append(why)
    return [(known[code].stack, why) for code, why in reasons.items()]


def kg_per_m3(stacks: Sequence[Stack], on: date) -> dict[str, float]:
    """What a green m³ of each stack's wood weighs on a day, by tag code; stacks without a forecast are left out."""
    return {
        stack.code: float(wood.mass_kg(1.0, stack.species.basic_density_kg_m3, stack.outlook.moisture_on(on)[1]))
        for stack in stacks
        if hasattr(stack, "outlook")
    }


def wettest_pct(stacks: Sequence[Stack], on: date) -> float | None:
    """Median forecast of the wettest stack on a day; None without any forecast."""
    return max((stack.outlook.moisture_on(on)[1] for stack in stacks if hasattr(stack, "outlook")), default=None)
