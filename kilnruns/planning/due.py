"""Which stack serves which need: its due day and what a week late costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from yard.models import Need, Stack

LATE_PER_WEEK = 60.0  # EUR per week and need: a week late outweighs an ordinary kiln week; a choice
DRY_YIELD = 0.6  # finished wood from green, after shrinking, planing and trimming: common practice, no source


@dataclass(frozen=True, slots=True)
class Due:
    need: Need
    day: int


def _fits(stack: Stack, need: Need) -> bool:
    """Right wood, thick enough to plane to size, and not so thick that it would be a waste."""
    return (
        stack.species_id == need.species_id
        and need.thickness_mm + 2 <= stack.thickness_mm <= need.thickness_mm * 1.6 + 4
        and stack.target_pct <= need.target_pct + 2
    )


def due_days(stacks: Sequence[Stack], needs: Sequence[Need], first_day: date) -> dict[str, Due]:
    """Serve needs in order of date, each from the stacks that are ready soonest, until its volume is met."""
    found: dict[str, Due] = {}
    soonest = sorted(stacks, key=lambda stack: (stack.outlook.ready_p50 or date.max, stack.code))
    for need in sorted(needs, key=lambda need: (need.wanted_by, need.pk)):
        wanting = need.volume_m3
        for stack in soonest:
            if wanting <= 0:
                break
            if stack.code not in found and _fits(stack, need):
                found[stack.code] = Due(need, (need.wanted_by - first_day).days)
                wanting -= stack.volume_m3 * DRY_YIELD
    return found
