"""Kilns, plans and charges for tests. What they say is invented; loads are laid out by the core itself."""

from datetime import timedelta
from typing import Any

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from drying.load import Board, Pack, Space, lay_out, lay_out_packs
from kilnruns import models
from kilnruns.planning.answer import drawn
from kilnruns.planning.chambers import space
from tests.factories import KilnPlaceFactory, OutlookFactory, SpeciesFactory, StackFactory
from yard.models import Species, Stack

COURSE = {
    "code": "small-warm-softwood",
    "source": "common practice, no source",
    "from_memory": False,
    "notes": ["no_humidifying"],
    "steps": [
        {"from_pct": None, "dry_bulb_c": 48.0, "wet_bulb_c": 43.0, "humidity_pct": 75, "emc_pct": 12.8},
        {"from_pct": 15.0, "dry_bulb_c": 56.0, "wet_bulb_c": 43.0, "humidity_pct": 48, "emc_pct": 7.5},
    ],
    "equalise_pct": 6.0,
    "equalise_from_driest_pct": 6.0,
    "condition_pct": 11.0,
    "run": {},
}


def today() -> Any:
    return timezone.localdate()


def days_from_today(count: int) -> Any:
    return today() + timedelta(days=count)


def ready_stack(species: Species | None = None, **kwargs: Any) -> Stack:
    """A stack with a forecast, at 14 % and long ready."""
    stack = StackFactory(species=species or SpeciesFactory(), **kwargs)
    OutlookFactory(stack=stack)
    return stack


class KilnFactory(DjangoModelFactory):
    """A small chamber, loaded by hand."""

    class Meta:
        model = models.Kiln

    place = factory.SubFactory(KilnPlaceFactory)
    length_mm = 4200
    width_mm = 1200
    height_mm = 1200
    longest_board_mm = 4200
    heater_kw = 6
    trusted = True  # a kiln that is known; those not yet known are in test_first_charge.py


class ClosureFactory(DjangoModelFactory):
    class Meta:
        model = models.Closure

    kiln = factory.SubFactory(KilnFactory)
    first_day = factory.LazyFunction(lambda: days_from_today(3))
    last_day = factory.LazyFunction(lambda: days_from_today(5))
    reason = "Fan bearings"


class PlanFactory(DjangoModelFactory):
    class Meta:
        model = models.Plan

    first_day = factory.LazyFunction(today)
    value = 900
    bound = 1000
    seconds = 1.2


def tally(stack: Stack) -> list[list[int]]:
    return [[line.length_mm, line.width_mm, line.count] for line in stack.lines.all()]


def laid_out(kiln: models.Kiln, taken: dict[Stack, list[list[int]]]) -> dict[str, Any]:
    """The core's own layout of these boards, as a plan keeps it."""
    boards = [
        Board(stack.code, length, width, stack.thickness_mm)
        for stack, lines in taken.items()
        for length, width, count in lines
        for _ in range(count)
    ]
    return drawn(lay_out(boards, space(kiln), exact=False))


def packs_stood(sizes: dict[str, tuple[float, float, float]], room: Space) -> dict[str, Any]:
    """The core's own layout of packs (code -> length, width, height), as a plan keeps it."""
    return drawn(lay_out_packs([Pack(code, *size) for code, size in sizes.items()], room))


def volume_of(stack: Stack, lines: list[list[int]]) -> float:
    return sum(length * width * count for length, width, count in lines) / 1e9 * stack.thickness_mm


class ProposalFactory(DjangoModelFactory):
    """Without its shares: see `propose`."""

    class Meta:
        model = models.Proposal
        exclude = ["taken"]

    plan = factory.SubFactory(PlanFactory)
    kiln = factory.SubFactory(KilnFactory)
    taken = factory.LazyFunction(lambda: {(stack := ready_stack()): tally(stack)})
    start_on = factory.LazyFunction(today)
    days, days_low, days_high = 12, 8, 18
    group = "softwood@8"
    target_pct = 8
    volume_m3 = factory.LazyAttribute(lambda one: sum(volume_of(stack, lines) for stack, lines in one.taken.items()))
    fill, fill_bound, of_attainable = 0.76, 0.82, 0.93
    energy_kwh, water_kg, cost = 410, 140, 184
    layout = factory.LazyAttribute(lambda one: laid_out(one.kiln, one.taken))


def propose(kiln: models.Kiln | None = None, taken: dict[Stack, Any] | None = None, **kwargs: Any) -> models.Proposal:
    """A proposal with its shares."""
    kiln = kiln or KilnFactory()
    taken = taken or {(stack := ready_stack()): tally(stack)}
    proposal = ProposalFactory(kiln=kiln, taken=taken, **kwargs)
    for stack, lines in taken.items():
        volume = volume_of(stack, lines)
        models.ProposalStack.objects.create(
            proposal=proposal, stack=stack, share=volume / stack.volume_m3, volume_m3=volume, pieces=lines
        )
    return proposal


class ChargeFactory(DjangoModelFactory):
    """Planned, without its stacks: see `charge_of`."""

    class Meta:
        model = models.Charge
        exclude = ["members"]

    kiln = factory.SubFactory(KilnFactory)
    members = factory.LazyFunction(lambda: [ready_stack()])
    start_on = factory.LazyFunction(today)
    days, days_low, days_high = 12, 8, 18
    target_pct = 8
    volume_m3 = factory.LazyAttribute(lambda one: sum(stack.volume_m3 for stack in one.members))
    fill, fill_bound, of_attainable = 0.76, 0.82, 0.93
    energy_kwh, water_kg, cost = 410, 140, 184
    layout = factory.LazyAttribute(lambda one: laid_out(one.kiln, {stack: tally(stack) for stack in one.members}))
    course = COURSE


def charge_of(*stacks: Stack, **kwargs: Any) -> models.Charge:
    """A planned charge with its stacks, which are set aside for it."""
    members = list(stacks) or [ready_stack()]
    charge = ChargeFactory(members=members, **kwargs)
    for stack in members:
        stack.set_aside_for = str(charge.kiln)
        stack.save(update_fields=["set_aside_for"])
        models.ChargeStack.objects.create(charge=charge, stack=stack, volume_m3=stack.volume_m3)
    return charge


class SensorDeviceFactory(DjangoModelFactory):
    class Meta:
        model = models.SensorDevice

    kiln = factory.SubFactory(KilnFactory)
    name = factory.Sequence("Rear wall {}".format)
    key = factory.Sequence("{:012x}".format)
    by_mqtt = True
