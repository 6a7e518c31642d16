"""What else a person could choose: a charge fuller later or sooner, and what wood would fill the charges."""

from collections.abc import Mapping, Sequence

import numpy as np

from drying.layout import Layout
from drying.planner.answer import net_space_m3
from drying.planner.book import Batch, Book, taken, total
from drying.planner.fill import Offer, by_density, filled
from drying.planner.greedy import refill
from drying.planner.settle import Settled
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task
from drying.planner.wholes import Wholes
from drying.planner.windows import Window
from drying.proposal import Alternative, Missing

FULLER = 0.08
"""An alternative is worth telling from this much more of the kiln, or this much earlier relative to the run."""
FULL = 0.92
LOOKS = 4
MOST_ROWS = 200


def alternatives(
    task: Task, offers: Sequence[Offer], plan: Sequence[Batch], watch: Stopwatch
) -> tuple[Alternative, ...]:
    """For the next charge of each kiln: the best start later that fills it more, the best one sooner that still fills
    it enough. What the whole plan gains or loses by it is counted, the gaps filled anew."""
    found: list[Alternative] = []
    ordered = sorted(plan, key=lambda one: (one.start, one.kiln))
    for offer in offers:
        own = [batch for batch in ordered if batch.kiln == offer.kiln]
        if own:
            for kind in ("later", "sooner"):
                other = _other(task, offer, ordered, own[0], kind, offers, watch)
                found += [other] if other else []
    return tuple(found)


def _other(
    task: Task, offer: Offer, plan: list[Batch], now: Batch, kind: str, offers: Sequence[Offer], watch: Stopwatch
) -> Alternative | None:
    room = Book(task, [one for one in plan if one != now and one.kiln != offer.kiln])
    until = now.start + 21
    rows = [
        row
        for row, start in enumerate(offer.start.tolist())
        if (now.start < start <= until if kind == "later" else start < now.start)
    ]
    candidates = [batch for batch in _most_full(task, offer, rows, room, plan) if _better(task, batch, now, kind)]
    best: tuple[float, Batch] | None = None
    for batch in candidates[:LOOKS]:
        value = _with(task, offers, plan, now, batch, watch)
        if best is None or value > best[0]:
            best = (value, batch)
    if best is None:
        return None
    return Alternative(
        charge=plan.index(now),
        kind="fuller_later" if kind == "later" else "less_full_sooner",
        kiln=task.kilns[offer.kiln].code,
        start_day=best[1].start,
        days=best[1].days,
        space_taken=_full(task, best[1]),
        space_taken_now=_full(task, now),
        codes=tuple(task.lumber[stack].code for stack, _ in best[1].shares),
        gain=best[0] - total(task, plan),
    )


def _full(task: Task, batch: Batch) -> float:
    return min(1.0, taken(task, batch.kiln, batch.shares))


def _better(task: Task, batch: Batch, now: Batch, kind: str) -> bool:
    more = _full(task, batch) - _full(task, now)
    return more >= FULLER if kind == "later" else now.start - batch.start >= max(3, FULLER * now.days)


def _most_full(task: Task, offer: Offer, rows: Sequence[int], room: Book, plan: Sequence[Batch]) -> list[Batch]:
    """Loads of these rows from stacks that no other kiln has, the fullest first, one a start."""
    best: dict[int, Batch] = {}
    if isinstance(offer, Wholes):
        rows = [row for row in rows if not (offer.holds[row] & (room.left < 1)).any()]
    elif len(rows) > MOST_ROWS:
        profit = offer.profits(np.array(rows), room.left)
        rows = sorted(np.array(rows)[np.argsort(-profit, kind="stable")[:MOST_ROWS]].tolist())
    for row in rows:
        start, days = int(offer.start[row]), int(offer.days[row])
        order = by_density(task, offer.kiln, start, days, offer.windows[row].stacks)
        batch = filled(offer, row, room.left, order)
        if batch and (start not in best or _full(task, batch) > _full(task, best[start])):
            best[start] = batch
    return sorted(best.values(), key=lambda one: (-round(_full(task, one), 2), one.start))


def _with(
    task: Task, offers: Sequence[Offer], plan: Sequence[Batch], now: Batch, other: Batch, watch: Stopwatch
) -> float:
    """The plan's value with the other batch in place of this one, the gaps filled anew."""
    book = Book(task, [other])
    for batch in plan:
        if batch != now and book.takes(batch):
            book.enter(batch)
    refill(task, offers, book, watch)
    return book.value


def missing(task: Task, done: Sequence[Settled], offered: Mapping[int, Sequence[Window]]) -> tuple[Missing, ...]:
    """What charges that are not full could still take, and what groups without a charge lack for one."""
    found = [_missing(task, index, one) for index, one in enumerate(done) if _open(task, one) > 1 - FULL]
    served = {int(task.groups[one.batch.shares[0][0]]) for one in done}
    return (*found, *_unserved(task, offered, served))


def _open(task: Task, one: Settled) -> float:
    return 1 - _full(task, one.batch)


def _missing(task: Task, index: int, one: Settled) -> Missing:
    batch = one.batch
    thickness = [float(task.thickness[stack]) for stack, _ in batch.shares]
    rest = one.layout.rests[0] if isinstance(one.layout, Layout) and one.layout.rests else None
    return Missing(
        charge=index,
        kiln=task.kilns[batch.kiln].code,
        group=task.lumber[batch.shares[0][0]].group,
        thinnest_mm=task.rules.thinnest_to_thickest * max(thickness),
        thickest_mm=min(thickness) / task.rules.thinnest_to_thickest,
        volume_m3=_open(task, one) * _holds_m3(task, one),
        by_day=batch.start,
        lane_rest_mm=rest.rest_mm if rest else None,
        lane_from_mm=rest.from_mm if rest else None,
        lane_to_mm=rest.to_mm if rest else None,
        lanes=rest.lanes if rest else 0,
        lane_m3=rest.volume_m3 if rest else 0.0,
    )


def _holds_m3(task: Task, one: Settled) -> float:
    """Volume of a full load of this kind."""
    volume = sum(share * task.lumber[stack].volume_m3 for stack, share in one.batch.shares)
    if isinstance(one.layout, Layout):
        return net_space_m3(one.layout, one.layout.space)
    return volume / max(_full(task, one.batch), 0.01)


def _unserved(task: Task, offered: Mapping[int, Sequence[Window]], served: set[int]) -> list[Missing]:
    """For each other group: the kiln and window nearest to being full enough, and what it lacks to be full."""
    best: dict[int, tuple[float, int, Window]] = {}
    for kiln, some in offered.items():
        for window in some:
            group = int(task.groups[window.stacks[0]])
            if group in served:
                continue
            fill = float(task.need.share[kiln, list(window.stacks)].sum())
            if fill < task.rules.smallest_fill and (group not in best or fill > best[group][0]):
                best[group] = (fill, kiln, window)
    return [_lacking(task, *best[group]) for group in sorted(best)]


def _lacking(task: Task, fill: float, kiln: int, window: Window) -> Missing:
    members = np.array(window.stacks)
    volume = sum(task.lumber[stack].volume_m3 for stack in window.stacks)
    return Missing(
        charge=None,
        kiln=task.kilns[kiln].code,
        group=task.lumber[window.stacks[0]].group,
        thinnest_mm=task.rules.thinnest_to_thickest * float(task.thickness[members].max()),
        thickest_mm=float(task.thickness[members].min()) / task.rules.thinnest_to_thickest,
        volume_m3=volume * (1 - fill) / fill,
        by_day=window.start,
        lane_rest_mm=None,
    )
