"""Kilns as the core takes them: what they hold, when they are free, how they heat."""

from datetime import date, timedelta
from typing import Any

from drying.heat import Chamber
from drying.layout import Space
from drying.offers import KilnOffer
from kilnruns.models import Charge, Kiln

TURNAROUND_DAYS = 1  # to unload, sweep and load again: common practice, no source
OVERDUE_DAYS = 2  # that a run longer than forecast goes on taking its kiln; a choice

# What a chamber measures more than its stacking space, in length, width (plenums) and height (fans), m: a choice.
ROOM_M = (0.2, 0.6, 0.4)


def space(kiln: Kiln) -> Space:
    """The stacking space that the kiln's drying unit serves, where it has limits of its own."""
    whole = Space(
        length_mm=kiln.length_mm,
        width_mm=kiln.width_mm,
        height_mm=kiln.height_mm,
        sticker_mm=kiln.sticker_mm,
        longest_board_mm=kiln.longest_board_mm,
    )
    return whole.served_by(kiln.largest_air_m3, kiln.blow_length_mm)


def chamber(kiln: Kiln, rate_factor: float = 1.0) -> Chamber:
    """The chamber around the stacking space, with room for plenum, baffles and fans; the factor its runs taught."""
    return Chamber(
        length_m=kiln.length_mm / 1000 + ROOM_M[0],
        width_m=kiln.width_mm / 1000 + ROOM_M[1],
        height_m=kiln.height_mm / 1000 + ROOM_M[2],
        wall_u_w_m2k=kiln.wall_u_w_m2k,
        leak_per_h=kiln.leak_per_h,
        heater_kw=kiln.heater_kw,
        heater_steps=kiln.heater_phases,
        fan_kw=kiln.fan_kw,
        max_temperature_c=kiln.max_temperature_c,
        humidifies=kiln.humidifies,
        altitude_m=kiln.place.altitude_m,
        rate_factor=rate_factor,
    )


def taken_days(kiln: Any, first_day: date, horizon_days: int) -> tuple[tuple[int, int], ...]:
    """Days [from, to) from `first_day` on that closures and charges ahead take; needs both prefetched."""
    spans = [(closure.first_day, closure.last_day + timedelta(days=1)) for closure in kiln.closures.all()]
    spans += [_span(charge, first_day) for charge in kiln.charges_ahead]
    numbers = [((start - first_day).days, (end - first_day).days) for start, end in spans]
    days = [(max(start, 0), min(end, horizon_days)) for start, end in numbers]
    return tuple(sorted((start, end) for start, end in days if end > start))


def _span(charge: Charge, first_day: date) -> tuple[date, date]:
    """A charge that should have been loaded begins now at best; one that should be done takes its kiln a while yet."""
    if charge.started_at is None:
        start = max(charge.start_on, first_day)
        return start, start + timedelta(days=charge.days)
    return charge.start_on, max(charge.ends_on, first_day + timedelta(days=OVERDUE_DAYS))


def offer(kiln: Kiln, first_day: date, horizon_days: int, energy_per_day: float = 0.0) -> KilnOffer:
    """A kiln for the planner; `energy_per_day` is what a day costs in fans and heat through the walls.

    `heater_kg_water_per_day` stays None: the run days come from tables of the chamber's own heat balance under a full
    load (heater, walls, leak, vents and season), so a weak heater has lengthened them already; a limit beside it would
    count it twice.
    """
    return KilnOffer(
        code=str(kiln.pk),
        loading=kiln.loading,
        space=space(kiln),
        cost_per_day=kiln.cost_per_day + energy_per_day,
        blocked=taken_days(kiln, first_day, horizon_days),
        may_split=kiln.may_split,
    )
