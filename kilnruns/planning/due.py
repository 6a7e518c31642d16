"""Which stack serves which need: its due day and what a week late costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from yard.models import MillFigures, Need, NeedLine, Stack

LATE_PER_WEEK = 60.0  # EUR per week and need: a week late outweighs an ordinary kiln week; a choice
IMPORTANT = {1: 0.5, 2: 1.0, 3: 3.0}  # times that, by how much the need matters: a choice


@dataclass(frozen=True, slots=True)
class Due:
    need: Need
    day: int

    @property
    def late_per_week(self) -> float:
        return LATE_PER_WEEK * IMPORTANT[self.need.importance]


def _fits(stack: Stack, need: Need, line: NeedLine) -> bool:
    """Right wood, thick enough to plane to size, and not so thick that it would be a waste."""
    return (
        stack.species_id in {one.pk for one in line.species.all()}
        and line.thickness_mm + 2 <= stack.thickness_mm <= line.thickness_mm * 1.6 + 4
        and stack.target_pct <= need.target_pct + 2
    )


def due_days(
    stacks: Sequence[Stack], needs: Sequence[Need], first_day: date, cut_yield: float | None = None
) -> dict[str, Due]:
    """Serve needs in order of date: what is reserved for them first, then from the stacks that are ready soonest,
    until each line's volume is met. A reserved stack serves nobody else. Needs come `with_lines`. `cut_yield`: finished
    wood of green, 0 to 1; None: as the mill's figures begin."""
    cut_yield = cut_yield or MillFigures().cut_yield
    soonest = sorted(stacks, key=lambda stack: (stack.outlook.ready_p50 or date.max, stack.code))
    ordered = sorted(needs, key=lambda need: (need.wanted_by, need.pk))
    codes = {stack.pk: stack.code for stack in stacks}
    found = {code: Due(need, (need.wanted_by - first_day).days) for code, need in _reserved(ordered, codes).items()}
    for need in ordered:
        for line in need.lines.all():
            wanting = _wanting(line, cut_yield)
            for stack in soonest:
                if wanting <= 0:
                    break
                if stack.code not in found and _fits(stack, need, line):
                    found[stack.code] = Due(need, (need.wanted_by - first_day).days)
                    wanting -= stack.volume_m3 * cut_yield
    return found


def _wanting(line: NeedLine, cut_yield: float) -> float:
    """Finished volume that nothing is kept for; what was sawn to its size counts as so much of it."""
    kept = list(line.reservations.all())
    to_size = sum(one.sawn_for or 0.0 for one in kept) / line.quantity
    to_cut = sum(one.volume_m3 for one in kept if not one.sawn_for)
    return line.volume_m3 * (1 - to_size) - cut_yield * to_cut


def _reserved(needs: Sequence[Need], codes: dict[int, str]) -> dict[str, Need]:
    """Each stack that something is kept of, with the need that wants it first."""
    kept: dict[str, Need] = {}
    for need in needs:
        for line in need.lines.all():
            for one in line.reservations.all():
                if one.stack_id in codes:
                    kept.setdefault(codes[one.stack_id], need)
    return kept
