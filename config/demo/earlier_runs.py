"""The small kiln's runs before the one that was planned, from fixtures/demo_runs.csv, each of one stack. All invented.

`pace` is how many times the forecast's days a run took.
"""

import csv
from datetime import date, timedelta
from typing import Any

from django.conf import settings

from config.demo import charges
from config.demo.stacks import make_one, moment
from kilnruns.actions import charges as actions
from kilnruns.models import Charge, Kiln, Plan, Proposal, ProposalStack
from kilnruns.planning.alone import alone
from yard import outlook
from yard.models import Place, Species, Stack


def rows() -> list[dict[str, str]]:
    with (settings.BASE_DIR / "fixtures" / "demo_runs.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def run_all(places: dict[str, Place], store: Place, today: date, by: Any) -> None:
    kiln = Kiln.objects.filter(loading="hand").order_by("pk").first()
    species = {one.key: one for one in Species.objects.all()}
    if kiln is None:
        return
    for row in rows():
        stack = make_one(row, species[row["species"]], places, today, by)
        outlook.refresh([stack])
        day = today - timedelta(days=int(row["run_days_ago"]))
        proposal = _proposal(kiln, stack, day, by)
        charge = actions.accept(proposal=proposal, by=by, at=moment(day))
        _forecast(charge)
        charges.run(charge, today, store, by, pace=float(row["pace"]))
        proposal.plan.delete()


def _proposal(kiln: Kiln, stack: Stack, day: date, by: Any) -> Proposal:
    """As a plan would have it: the boards laid out by the core, with days that the accepted run's forecast replaces."""
    found = alone(stack, kiln)
    plan = Plan.objects.create(first_day=day, value=1, bound=1, seconds=0, made_by=by)
    load = {
        "start_on": day,
        "days": 1,
        "days_low": 1,
        "days_high": 1,
        "target_pct": stack.target_pct,
        "volume_m3": stack.volume_m3,
        "fill": found.fill,
        "fill_bound": found.fill / found.of_attainable,
        "of_attainable": found.of_attainable,
        "energy_kwh": 0,
        "water_kg": 0,
        "cost": 0,
        "layout": found.layout,
    }
    proposal = Proposal.objects.create(plan=plan, kiln=kiln, group=stack.species.key, **load)
    pieces = [[line.length_mm, line.width_mm, line.count] for line in stack.lines.all()]
    ProposalStack.objects.create(proposal=proposal, stack=stack, share=1, volume_m3=stack.volume_m3, pieces=pieces)
    return proposal


def _forecast(charge: Charge) -> None:
    """The charge's own figures by the run that was forecast for it."""
    run = charge.course["run"]
    band = run["band"]
    charge.days, charge.days_low, charge.days_high = (
        max(round(band["days"][name]), 1) for name in ("usual", "low", "high")
    )
    charge.energy_kwh, charge.cost, charge.water_kg = band["kwh"]["usual"], band["cost"]["usual"], run["water_kg"]
    charge.save()
