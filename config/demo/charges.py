"""The demo's charges: one run and unloaded some weeks ago, one planned."""

from datetime import date, timedelta
from typing import Any

from config.demo import closed
from config.demo.stacks import moment
from kilnruns.actions import charges as actions
from kilnruns.actions.plans import make_plan
from kilnruns.actions.starting import start
from kilnruns.models import Charge, Plan, Proposal
from yard.models import Place

PLANNED_DAYS_AGO = 60
LATE_DAYS = 1  # longer than forecast
AT_ONCE = 0.0  # seconds for plans of the past: the first answer, the same on a fast machine and on a slow one


def shortest(plan: Plan) -> Proposal | None:
    """The proposal of the hand-loaded kiln that ends first: small enough to have been run already."""
    return plan.proposals.filter(kiln__loading="hand").order_by("start_on", "days", "pk").first()


def run_one(today: date, store: Place, by: Any) -> Charge | None:
    """Plan as of some weeks ago, and take the first proposal all the way to the store."""
    day = today - timedelta(days=PLANNED_DAYS_AGO)
    plan = make_plan(first_day=day, horizon_days=21, careful=False, by=by, seconds=AT_ONCE)
    proposal = shortest(plan)
    if proposal is None:
        return None
    charge = actions.accept(proposal=proposal, by=by, at=moment(day))
    run(charge, today, store, by, longer_days=LATE_DAYS)
    plan.delete()
    charge.refresh_from_db()
    return charge


def run(charge: Charge, today: date, store: Place, by: Any, *, pace: float = 1.0, longer_days: int = 0) -> None:
    """An accepted charge all the way to the store: read, loaded, run in `pace` times its forecast's days and some,
    unloaded, measured."""
    has_run = bool(charge.course["run"].get("curve"))
    if has_run:
        closed.read_before(charge, charge.start_on - timedelta(days=closed.BEFORE_DAYS), by)
    out_on = charge.start_on + timedelta(days=round(pace * _run_days(charge)) + longer_days)
    loaded, unloaded = moment(charge.start_on, 9), moment(min(out_on, today - timedelta(days=1)), 14)
    for item in charge.stacks.select_related("stack"):
        actions.load(charge=charge, stack=item.stack, by=by, at=loaded)
    start(charge=charge, by=by, at=loaded)
    charge.refresh_from_db()
    if has_run:
        closed.keep_run(charge, unloaded, by)
    for item in charge.stacks.select_related("stack"):
        actions.unload(charge=charge, stack=item.stack, place=store, by=by, at=unloaded)
    charge.refresh_from_db()
    closed.close(charge, unloaded, by)


def _run_days(charge: Charge) -> int:
    return round(charge.course["run"].get("days") or charge.days)


def plan_one(today: date, by: Any) -> Charge | None:
    """Plan from today, accept the first proposal, and plan again around it."""
    plan = make_plan(first_day=today, horizon_days=56, careful=False, by=by)
    first = plan.proposals.order_by("start_on", "pk").first()
    if first is None:
        return None
    charge = actions.accept(proposal=first, by=by, at=moment(today, 8))
    make_plan(first_day=today, horizon_days=56, careful=False, by=by)
    return charge
