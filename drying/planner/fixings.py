"""What persons have fixed, as constraints: the windows that are left are all that any step of the planner may use.

A stack that goes into a charge stands in the windows of that kiln and start alone, and weighs more than anything; a
start that is fixed drops every window that would run across it, and those on its day without its stacks; a pair that
never goes together splits each window that holds both. The bound is of the same windows, so it stays valid.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from drying import proposal
from drying.offers import Fixing, KilnOffer, Lumber, Rules
from drying.planner.clashing import Kept, sorted_out
from drying.planner.task import Task, make_task, order_weight
from drying.planner.windows import Window
from drying.proposal import Alternative, Clash, PlannedCharge, Reason


def clashes(
    stacks: Sequence[Lumber],
    kilns: Sequence[KilnOffer],
    fixings: Sequence[Fixing],
    *,
    horizon_days: int = 56,
    careful: bool = False,
    work_days: Sequence[bool] | None = None,
    rules: Rules = Rules(),  # noqa: B008 - frozen
) -> tuple[Clash, ...]:
    """The rules that fixings collide with, each in turn against those before it (days, mm, % as in `Clash`); `stacks`
    must hold those named. By the planner's own rules (`offers`); ValueError as for a plan."""
    task = make_task(stacks, kilns, rules, horizon_days, careful, work_days, None)
    return tuple(sorted_out(task, fixings)[1])


class Fixed:
    """The fixings that can be kept, and what they leave open."""

    def __init__(self, task: Task, fixings: Sequence[Fixing]) -> None:
        self.kept, self.clashes = sorted_out(task, fixings)
        self.before = task
        order = task.order.copy()
        for stack in self.kept.places:
            order[stack] = max(float(order[stack]), order_weight(task.lumber, task.kilns, task.horizon))
        self.task = replace(task, ready=self.kept.ready, order=order, worths={}) if fixings else task
        self.runs = [self.kept.runs(kiln) for kiln in range(len(task.kilns))]
        self._had: set[int] = set()
        self._has: set[int] = set()

    def start_days(self, kiln: int) -> list[int]:
        """Days on which a charge has to start in this kiln, or in one that is left open."""
        return sorted({day for row, day in self.kept.places.values() if row in (None, kiln) and day is not None})

    def allowed(self, kiln: int, offered: Sequence[Window]) -> list[Window]:
        """The windows of a kiln without what the fixings forbid."""
        if not self.kept.places and not self.kept.apart:
            return list(offered)
        left: dict[Window, None] = {}
        for window in offered:
            left.update(dict.fromkeys(self._parts(kiln, window)))
        self._had.update(stack for window in offered for stack in window.stacks)
        self._has.update(stack for window in left for stack in window.stacks)
        return list(left)

    def _parts(self, kiln: int, window: Window) -> Iterator[Window]:
        start, end = window.start, window.start + window.days
        if any(start < until and begin < end and begin != start for begin, until in self.runs[kiln]):
            return
        needed = set(self.kept.fixed_at(kiln, start))
        inside = frozenset(stack for stack in window.stacks if self._may(stack, kiln, window))
        if not inside or not needed <= inside:
            return
        for part in _without_pairs(inside, sorted(self.kept.apart)):
            if part and needed <= part:
                yield Window(start, window.days, tuple(sorted(part)))

    def _may(self, stack: int, kiln: int, window: Window) -> bool:
        """Where a stack has to go without a day, its run has to end within the plan: the last day would be cheapest."""
        if stack not in self.kept.places:
            return True
        where, when = self.kept.places[stack]
        if when is None:
            return where in (None, kiln) and window.start + window.days <= self.task.horizon
        return where in (None, kiln) and when == window.start

    def reasons(self, found: Sequence[Reason]) -> tuple[Reason, ...]:
        """With the fixing named where it is what keeps a stack out."""
        return tuple(self._reason(one) for one in found)

    def _reason(self, one: Reason) -> Reason:
        stack = self.kept.rows[one.code]
        if one.why in (proposal.TOO_WET, proposal.NO_TIME_LEFT) and self.kept.ready[stack] > self.before.ready[stack]:
            until = int(self.kept.ready[stack])
            return Reason(one.code, proposal.HELD, {"until": until if until < 10**6 else None})
        if stack in self._had - self._has:
            return Reason(one.code, proposal.FIXED_OUT)
        return one

    def other_choices(self, found: Sequence[Alternative], charges: Sequence[PlannedCharge]) -> tuple[Alternative, ...]:
        """Without those for a charge that somebody has fixed."""
        fixed = {self.kept.task.lumber[stack].code for stack in self.kept.places}
        return tuple(one for one in found if not fixed & set(charges[one.charge].codes))

    def unmet(self, charges: Sequence[PlannedCharge]) -> tuple[Clash, ...]:
        """The wishes that collide, and those for which no place was found."""
        found = list(self.clashes)
        for one, stack in self.kept.given:
            kiln, start = self.kept.places.get(stack, (None, None))
            if one.kind in ("into", "start") and not any(_meets(one, charge) for charge in charges):
                code = None if kiln is None else self.kept.task.kilns[kiln].code
                found.append(Clash(one, "no_room", {"kiln": code, "start": start}))
        return tuple(found)


def _meets(one: Fixing, charge: PlannedCharge) -> bool:
    return (
        one.code in charge.codes
        and one.kiln in (None, charge.kiln)
        and one.start_day in (None, charge.start_day)
    )  # fmt: skip


def _without_pairs(stacks: frozenset[int], pairs: Sequence[tuple[int, int]]) -> list[frozenset[int]]:
    """The largest parts of these stacks that hold no pair."""
    parts = [stacks]
    for pair in pairs:
        split = [part for part in parts if not part >= set(pair)]
        for part in parts:
            if part >= set(pair):
                split += [part - {one} for one in pair]
        parts = [one for one in dict.fromkeys(split) if not any(one < other for other in split)]
    return parts


__all__ = ["Fixed", "Kept", "clashes"]
