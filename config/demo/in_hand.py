"""The demo's run in hand: begun some days ago, with sample boards and a visit each morning. All of it invented.

The wood follows the curve forecast for it, each board a little off it; the air is the schedule's own with noise.
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from config.demo.charges import AT_ONCE
from config.demo.stacks import moment
from kilnruns.actions import charges as actions
from kilnruns.actions.plans import make_plan
from kilnruns.actions.running import keep_record
from kilnruns.actions.starting import start
from kilnruns.models import Charge, Fans, Phase, Plan, Proposal
from yard.models import SampleBoard

BEGUN_DAYS_AGO = 6
VISIT_HOUR = 7
METER_BEGAN_KWH = 1180.0
OVEN_DRY_G = (1240.0, 1185.0, 1310.0, 1205.0)  # boards of about 60 cm
OFF_CURVE = {"A": 0.06, "B": 0.02, "C": -0.01, "D": -0.05}  # share of the moisture, from the wettest to the driest
NOTES = {
    0: "Samples hung where they can be reached from the door.",
    2: "Wet bulb wick was dry; a new one put on.",
    4: "Stickers checked, nothing has slipped.",
}


def begin(today: date, by: Any) -> Charge | None:
    """Plan as of some days ago, start the longest run that could begin then, and visit it every morning since."""
    day = today - timedelta(days=BEGUN_DAYS_AGO)
    plan = make_plan(first_day=day, horizon_days=28, careful=False, by=by, seconds=AT_ONCE)
    proposal = longest(plan, day)
    if proposal is None:
        return None
    charge = actions.accept(proposal=proposal, by=by, at=moment(day))
    started = moment(charge.start_on, 9)
    for item in charge.stacks.select_related("stack"):
        actions.load(charge=charge, stack=item.stack, by=by, at=started)
    start(charge=charge, by=by, at=started)
    plan.delete()
    charge.refresh_from_db()
    visit_daily(charge, started, today, by)
    return charge


def longest(plan: Plan, day: date) -> Proposal | None:
    return plan.proposals.filter(start_on__lte=day + timedelta(days=1)).order_by("-days", "pk").first()


def visit_daily(charge: Charge, started: datetime, today: date, by: Any) -> None:
    dice = np.random.default_rng(17)
    boards = make_boards(charge)
    mornings = (charge.start_on + timedelta(days=n) for n in range(1, (today - charge.start_on).days))
    moments = [started + timedelta(hours=1), *(moment(morning, VISIT_HOUR) for morning in mornings)]
    before: int | None = None
    for number, at in enumerate(moments):
        days = (at - started) / timedelta(days=1)
        moistures = {board: _moisture(charge, days) * (1 + OFF_CURVE[board.label]) for board in boards}
        step = None if number == 0 else _step(charge, float(np.mean(sorted(moistures.values())[len(boards) // 2 :])))
        seen = _seen(charge, days, step if step != before else None, step, dice)
        seen["note"] = NOTES.get(number, "")
        masses = {one: round(one.oven_dry_mass_g * (1 + pct / 100), 0) for one, pct in moistures.items()}
        keep_record(charge=charge, at=at, by=by, seen=seen, masses_g=masses)
        before = step


def make_boards(charge: Charge) -> Sequence[SampleBoard]:
    """Four, in turn in the largest stacks, weighed before the door was closed."""
    largest = list(charge.stacks.select_related("stack").order_by("-volume_m3", "pk")[: len(OFF_CURVE)])
    start = _moisture(charge, 0)
    return [
        SampleBoard.objects.create(
            stack=largest[number % len(largest)].stack,
            label=label,
            oven_dry_mass_g=dry,
            green_mass_g=round(dry * (1 + start * (1 + OFF_CURVE[label]) / 100)),
            made_on=charge.start_on,
        )
        for number, (label, dry) in enumerate(zip(OFF_CURVE, OVEN_DRY_G, strict=True))
    ]


def _seen(charge: Charge, days: float, newly: int | None, step: int | None, dice: Any) -> dict[str, Any]:
    run, row = charge.course["run"], charge.course["steps"][(step or 1) - 1]
    dry = 24.0 if step is None else round(row["dry_bulb_c"] + dice.normal(0, 0.5), 1)
    depression = 2.0 if step is None else row["dry_bulb_c"] - row["wet_bulb_c"] + dice.normal(0, 0.2)
    kwh = (run["heater_kwh"] + run["fan_kwh"]) * days / run["curve"]["days"][-1]
    return {
        "phase": Phase.WARM_UP if step is None else Phase.DRYING if newly else "",
        "step": newly,
        "dry_bulb_c": dry,
        "wet_bulb_c": round(dry - max(depression, 0.5), 1),
        "vents_pct": 0 if step is None else 30,
        "fans": Fans.RUNNING,
        "heater_steps": charge.kiln.heater_phases if step is None else min(2, charge.kiln.heater_phases),
        "meter_kwh": round(METER_BEGAN_KWH + kwh, 1),
    }


def _step(charge: Charge, moisture_pct: float) -> int:
    steps = charge.course["steps"]
    return sum(one["from_pct"] is None or moisture_pct <= one["from_pct"] for one in steps) or 1


def _moisture(charge: Charge, days: float) -> float:
    curve = charge.course["run"]["curve"]
    return float(np.interp(days, curve["days"], curve["mean_pct"]))
