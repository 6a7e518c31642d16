"""Which rules a person's wish collides with: each wish against the yard, the kilns, and what was fixed before it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from drying.offers import Fixing
from drying.planner.task import NEVER, Task
from drying.proposal import Clash, Figures

MOST_APART = 8
"""Pairs of one group that may be kept apart: each doubles the windows in which both could go."""
Place = tuple[int | None, int | None]
"""Kiln and start, each None where it is left open."""
Rule = tuple[str, Figures]


@dataclass(slots=True, eq=False)
class Kept:
    """The fixings that hold so far: where stacks go, from which day they may, which never go together."""

    task: Task
    ready: np.ndarray
    rows: dict[str, int]
    kilns: dict[str, int]
    places: dict[int, Place] = field(default_factory=dict)
    apart: set[tuple[int, int]] = field(default_factory=set)
    given: list[tuple[Fixing, int]] = field(default_factory=list)

    def fixed_at(self, kiln: int, start: int) -> list[int]:
        """Stacks that go into this very charge."""
        return [stack for stack, place in self.places.items() if place == (kiln, start)]

    def runs(self, kiln: int) -> list[tuple[int, int]]:
        """[begin, end) of the charges that have to start in this kiln, as short as they can be."""
        starts = sorted({start for row, start in self.places.values() if row == kiln and start is not None})
        return [(one, one + _run(self.task, kiln, one, self.fixed_at(kiln, one))) for one in starts]


def sorted_out(task: Task, fixings: Sequence[Fixing]) -> tuple[Kept, list[Clash]]:
    """What can be kept, each in turn: an earlier wish stands, a later one that collides with it does not."""
    kept = Kept(
        task,
        task.ready.copy(),
        {one.code: row for row, one in enumerate(task.lumber)},
        {one.code: row for row, one in enumerate(task.kilns)},
    )
    clashes: list[Clash] = []
    for one in fixings:
        clashes += [Clash(one, why, figures) for why, figures in _entered(kept, one)]
    return kept, clashes


def _entered(kept: Kept, one: Fixing) -> list[Rule]:
    """The rules it collides with; where there are none it is kept from now on."""
    stack = kept.rows.get(one.code)
    if stack is None:
        return [("unknown", {"stack": one.code})]
    rules = {"apart": _apart, "hold": _hold}.get(one.kind, _into)(kept, one, stack)
    if not rules:
        kept.given.append((one, stack))
    return rules


def _apart(kept: Kept, one: Fixing, stack: int) -> list[Rule]:
    other = kept.rows.get(one.other or "")
    if other is None:
        return [("unknown", {"stack": one.other})]
    if other == stack:
        return [("itself", {})]
    place = kept.places.get(stack)
    if place and None not in place and place == kept.places.get(other):
        return [("pinned", _named(kept, place))]
    pair = (min(stack, other), max(stack, other))
    alike = [a for a, _ in kept.apart if kept.task.groups[a] == kept.task.groups[stack]]
    if pair not in kept.apart and len(alike) >= MOST_APART:
        return [("too_many", {})]
    kept.apart.add(pair)
    return []


def _hold(kept: Kept, one: Fixing, stack: int) -> list[Rule]:
    until = NEVER if one.until_day is None else one.until_day
    place = kept.places.get(stack)
    if place and (until >= kept.task.horizon or (place[1] is not None and place[1] < until)):
        return [("pinned", _named(kept, place))]
    kept.ready[stack] = max(int(kept.ready[stack]), until)
    return []


def _into(kept: Kept, one: Fixing, stack: int) -> list[Rule]:
    """Into a charge: of the kilns it leaves open, the one that hinders it least speaks."""
    before = kept.places.get(stack)
    if kept.task.lumber[stack].must_wait:
        return [("waits", {})]
    if one.kiln is not None and one.kiln not in kept.kilns:
        return [("no_such_kiln", {"kiln": one.kiln})]
    kiln = kept.kilns[one.kiln] if one.kiln is not None else None
    if before and not all(a is None or b is None or a == b for a, b in zip(before, (kiln, one.start_day), strict=True)):
        return [("other_place", _named(kept, before))]
    if before:
        kiln = before[0] if kiln is None else kiln
    start = one.start_day if one.start_day is not None or not before else before[1]
    tried = {row: list(_at(kept, stack, row, start)) for row in ([kiln] if kiln is not None else kept.kilns.values())}
    open_to = [row for row, rules in tried.items() if not rules]
    if not open_to:
        return min(tried.values(), key=len, default=[("no_such_kiln", {"kiln": None})])
    kept.places[stack] = (open_to[0] if len(open_to) == 1 else None, start)
    return []


def _at(kept: Kept, stack: int, kiln: int, start: int | None) -> Iterator[Rule]:
    """What stands against this stack in this kiln on this day (or, with None, on any)."""
    held = list(_size(kept.task, stack, kiln))
    yield from held
    if held:
        return
    if start is None:
        if not _has_day(kept, stack, kiln):
            yield "no_day", {"kiln": kept.task.kilns[kiln].code, "ready": _day(kept.ready[stack])}
        return
    if not 0 <= start < kept.task.horizon:
        yield "outside", {"start": start, "horizon": kept.task.horizon}
        return
    yield from _not_yet(kept, stack, start)
    calendar = list(_calendar(kept.task, stack, kiln, start))
    yield from calendar
    others = [other for other in kept.fixed_at(kiln, start) if other != stack]
    company = list(_company(kept, stack, others, start))
    yield from company
    if others and not company:
        yield from _too_much(kept.task, [stack, *others], kiln, start)
    if not calendar:
        yield from _overlaps(kept, [stack, *others], kiln, start)


def _size(task: Task, stack: int, kiln: int) -> Iterator[Rule]:
    one, offer = task.lumber[stack], task.kilns[kiln]
    share = float(task.need.share[kiln, stack])
    longest = max((length for length, _, count in one.pieces if count), default=0.0)
    size = one.pack[0] if offer.loading == "pack" and one.pack else longest
    if size > offer.space.reach_mm and (offer.loading == "hand" or one.pack):
        yield "longer", {"kiln": offer.code, "longest_mm": size, "limit_mm": offer.space.reach_mm}
    elif not np.isfinite(share) or (share > 1 + 1e-6 and not offer.divides):
        yield "larger", {"kiln": offer.code, "needed": share if np.isfinite(share) else None}
    elif not np.isfinite(task.days[kiln, stack]).any():
        yield "cannot_dry", {"kiln": offer.code, "target_pct": one.target_pct}


def _not_yet(kept: Kept, stack: int, start: int) -> Iterator[Rule]:
    one, ready = kept.task.lumber[stack], int(kept.task.ready[stack])
    if ready > start:
        yield "not_ready", {
            "start": start, "ready_p10": one.ready_day_p10, "ready_p50": one.ready_day_p50,
            "ready_p90": one.ready_day_p90,
        }  # fmt: skip
    elif kept.ready[stack] > start:
        yield "held_back", {"start": start, "until": _day(kept.ready[stack])}


def _calendar(task: Task, stack: int, kiln: int, start: int) -> Iterator[Rule]:
    offer = task.kilns[kiln]
    days = task.days[kiln, stack, start]
    taken = [(begin, until) for begin, until in sorted(offer.blocked) if begin < start + days and until > start]
    if taken:
        begin = taken[0][0]
        lasting = float(days) if np.isfinite(days) else None
        yield (
            "blocked",
            {"kiln": offer.code, "start": start, "begin": begin, "until": max(u for _, u in taken), "days": lasting},
        )
    elif not task.starts[kiln, start]:
        yield "no_work_day", {"start": start}
    elif not np.isfinite(days):
        yield "cannot_dry", {"kiln": offer.code, "target_pct": task.lumber[stack].target_pct}


def _company(kept: Kept, stack: int, others: Sequence[int], start: int) -> Iterator[Rule]:
    """Whether it may share a run with those fixed into the same charge: the first rule against each."""
    task = kept.task
    for other in others:
        thick = sorted((float(task.thickness[stack]), float(task.thickness[other])))
        wet = (float(task.moisture[stack, start]), float(task.moisture[other, start]))
        code = task.lumber[other].code
        if (min(stack, other), max(stack, other)) in kept.apart:
            yield "apart", {"stack": code}
        elif task.groups[stack] != task.groups[other]:
            groups = (task.lumber[stack].group, task.lumber[other].group)
            yield "other_group", {"stack": code, "mine": groups[0], "theirs": groups[1]}
        elif thick[0] < task.rules.thinnest_to_thickest * thick[1] - 1e-9:
            mine, theirs = float(task.thickness[stack]), float(task.thickness[other])
            yield "other_thickness", {"stack": code, "mine": mine, "theirs": theirs}
        elif abs(wet[0] - wet[1]) > task.rules.moisture_window_pct + 1e-9:
            yield "other_moisture", {"stack": code, "mine": wet[0], "theirs": wet[1]}


def _too_much(task: Task, stacks: Sequence[int], kiln: int, start: int) -> Iterator[Rule]:
    """More than the kiln holds, boards by what they need together, without the margin for what packing loses."""
    if task.kilns[kiln].loading == "hand":
        share = task.need.joint[kiln].used(dict.fromkeys(stacks, 1.0)) / task.rules.demand_margin
    else:
        share = sum(float(task.need.share[kiln, stack]) for stack in stacks)
    if share > 1 + 1e-6:
        yield "too_much", {"kiln": task.kilns[kiln].code, "start": start, "share": share}


def _overlaps(kept: Kept, stacks: Sequence[int], kiln: int, start: int) -> Iterator[Rule]:
    """Another charge that has to start in this kiln before this one is done, or is not done when this one starts."""
    task, mine = kept.task, _run(kept.task, kiln, start, stacks)
    for begin, end in kept.runs(kiln):
        others = kept.fixed_at(kiln, begin)
        if begin != start and begin < start + mine and start < end:
            figures: Figures = {"kiln": task.kilns[kiln].code, "stack": task.lumber[others[0]].code}
            yield "overlap", {**figures, "begin": begin, "end": end, "my_start": start, "my_end": start + mine}


def _run(task: Task, kiln: int, start: int, stacks: Sequence[int]) -> int:
    lasting = [float(task.days[kiln, stack, start]) for stack in stacks]
    return int(max(lasting)) if np.isfinite(lasting).all() else task.horizon


def _has_day(kept: Kept, stack: int, kiln: int) -> bool:
    task = kept.task
    days = np.arange(task.horizon)
    able = task.starts[kiln] & (days >= kept.ready[stack]) & np.isfinite(task.days[kiln, stack])
    end = days + np.where(able, task.days[kiln, stack], 0)
    return bool((able & (end <= np.minimum(task.free_until[kiln], task.horizon))).any())


def _day(day: int) -> int | None:
    return None if day >= NEVER else int(day)


def _named(kept: Kept, place: Place) -> Figures:
    kiln, start = place
    return {"kiln": None if kiln is None else kept.task.kilns[kiln].code, "start": start}
