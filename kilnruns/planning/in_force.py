"""The plan in force, as rows, back to what the planner takes: so that a small change moves little."""

from collections.abc import Iterable, Sequence
from datetime import date

from drying.layout import Layout
from drying.offers import Lumber
from drying.proposal import Plan as CorePlan
from drying.proposal import PlannedCharge, Share
from kilnruns.models import Plan, Proposal
from kilnruns.planning.chambers import space


def rebuilt(plan: Plan, first_day: date, lumber: Iterable[Lumber]) -> CorePlan:
    """Its proposals that nobody has accepted and that are still ahead, with days counted from `first_day`.

    The drawings are left out: what is kept of a charge is laid out anew.
    """
    wood = {one.code: one for one in lumber}
    ahead = plan.proposals.filter(charge=None, start_on__gte=first_day).select_related("kiln")
    charges = [_charge(one, first_day, wood) for one in ahead.prefetch_related("shares__stack")]
    return CorePlan(
        charges=tuple(one for one in charges if one.shares),
        reasons=(),
        value=plan.value,
        bound=plan.bound,
        gap=0.0 if plan.bound <= 0 else max(0.0, plan.bound - plan.value) / plan.bound,
        seconds=plan.seconds,
        cut_by_clock=plan.cut_by_clock,
    )


def _charge(one: Proposal, first_day: date, wood: dict[str, Lumber]) -> PlannedCharge:
    shares = [row for row in one.shares.all() if row.stack.code in wood]
    return PlannedCharge(
        kiln=str(one.kiln_id),
        start_day=(one.start_on - first_day).days,
        days=one.days,
        group=one.group,
        shares=tuple(
            Share(row.stack.code, row.share, row.volume_m3, taken_of(wood[row.stack.code].pieces, row.pieces))
            for row in shares
        ),
        volume_m3=one.volume_m3,
        fill=one.fill,
        fill_bound=one.fill_bound,
        of_attainable=one.of_attainable,
        space_taken=one.extra.get("space_taken", one.fill),
        layout=Layout(space(one.kiln), (), (), (), 0, 0.0, 0.0, 0.0, 0.0, 0.0, ()),
        value=0.0,
        cost=one.cost,
        late=0.0,
        driver=one.extra.get("driver", ""),
        moisture_from_pct=one.extra.get("moisture_from_pct", one.target_pct),
        moisture_to_pct=one.extra.get("moisture_to_pct", one.target_pct),
    )


def taken_of(lines: Sequence[tuple[float, float, int]], taken: Sequence[Sequence[float]]) -> tuple[int, ...]:
    """How many boards of each tally line were taken, from (length_mm, width_mm, count) of those taken."""
    left: dict[tuple[int, int], int] = {}
    for length, width, count in taken:
        left[int(length), int(width)] = left.get((int(length), int(width)), 0) + int(count)
    found = []
    for length, width, count in lines:
        size = (int(length), int(width))
        part = min(count, left.get(size, 0))
        left[size] = left.get(size, 0) - part
        found.append(part)
    return tuple(found)
