"""The mill's kilns as the planner takes them, each day of theirs at what it costs with its energy."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from drying.offers import KilnOffer
from kilnruns.models import Kiln
from kilnruns.planning.chambers import chamber, offer
from kilnruns.planning.durations import Season, schedule_of
from kilnruns.planning.groups import Groups
from yard.models import Stack


def offers(
    kilns: Sequence[Kiln], stacks: Sequence[Stack], groups: Groups, air: Season, first_day: date, horizon_days: int
) -> list[KilnOffer]:
    """Closures and charges ahead of the kilns must be at hand."""
    return [offer(kiln, first_day, horizon_days, energy_per_day(kiln, stacks, groups, air)) for kiln in kilns]


def energy_per_day(kiln: Kiln, stacks: Sequence[Stack], groups: Groups, air: Season) -> float:
    """What a day costs in fans and in heat through the walls, full or not, in the owner's money.

    Kiln days are what the planner pays for; so it pays for the energy that goes with them. The heat that dries the wood
    itself is left out: it comes with the wood and is the same in any kiln.
    """
    means = [np.mean([step.dry_bulb_c for step in schedule_of(one, kiln, groups).steps]) for one in stacks]
    if not means:
        return 24 * kiln.fan_kw * kiln.price_per_kwh
    room = chamber(kiln)
    sizes = (room.length_m, room.width_m, room.height_m)
    walls_m2 = 2 * sum(sizes[one] * sizes[one - 1] for one in range(3))
    warmer_k = max(float(np.median(means)) - air.temperature_c, 0.0)
    return 24 * kiln.price_per_kwh * (kiln.fan_kw + kiln.wall_u_w_m2k * walls_m2 * warmer_k / 1000)
