"""Batches into charges really laid out: whole boards, every one with its place; what does not fit goes back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drying.layout import Board, Layout, Pack, PackLayout, StackWood
from drying.load import lay_out, lay_out_packs
from drying.loading.drawing import drawn
from drying.planner.book import LITTLE, Batch, make_batch, total
from drying.planner.cargo import Layers, best_cargo
from drying.planner.fill import by_density
from drying.planner.stock import Counts, Stock
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task

A_BOARD = 0.02
"""Whole boards may miss the smallest part by so much."""
PASSES = 4
"""Times that every charge is looked at again, while one gains by what another has left."""


@dataclass(frozen=True, slots=True)
class Settled:
    """A batch with the boards that go and where they lie."""

    batch: Batch
    counts: Counts
    layout: Layout | PackLayout


def settled(task: Task, batches: Sequence[Batch], stock: Stock, watch: Stopwatch) -> list[Settled]:
    """Every batch laid out in order of its start; those that are not full enough any more are left out."""
    done: list[Settled] = []
    for batch in sorted(batches, key=lambda one: (one.start, one.kiln)):
        one = _first(task, stock, batch, watch)
        if one is not None:
            stock.take(one.counts)
            done.append(one)
    for _ in range(PASSES):
        before = total(task, [one.batch for one in done])
        for index in range(len(done)):
            remixed(task, done, index, stock, watch)
            topped_up(task, done, index, stock, watch)
            tidied(task, done, index, stock)
        if total(task, [one.batch for one in done]) <= before + 1e-6:
            break
    return [_final(task, one, watch) for one in done]


def _first(task: Task, stock: Stock, batch: Batch, watch: Stopwatch) -> Settled | None:
    """The batch with its shares of every tally line alike, or the boards of these stacks that bring most;
    the former alone where the time is up."""
    if not task.kilns[batch.kiln].divides and not all(stock.untouched(stack) for stack, _ in batch.shares):
        return None
    alike = laid_out(task, stock, batch, {stack: stock.pick(stack, share) for stack, share in batch.shares})
    if not task.kilns[batch.kiln].divides or watch.over():
        return alike
    have = {stack: stock.left[stack].tolist() for stack, _ in batch.shares}
    layers = best_cargo(task, batch.kiln, batch.start, batch.days, have, caps=dict(batch.shares), watch=watch)
    found = [one for one in (alike, _stowed(task, stock, batch, layers)) if one is not None]
    return max(found, key=lambda one: total(task, [one.batch]) - task.rules.split_cost * _parted(one), default=None)


def laid_out(task: Task, stock: Stock, batch: Batch, counts: Counts, *, exact: bool = False) -> Settled | None:
    """The batch with what finds a place; stacks of which too little does go back whole. None if too empty then.
    `exact` looks for the fewest layers where a quick look leaves boards out."""
    if task.kilns[batch.kiln].loading == "pack":
        return _packs_laid_out(task, batch, counts)
    space = task.kilns[batch.kiln].space
    layout = lay_out(_boards(task, counts), space, exact=False)
    if exact and layout.unplaced:
        layout = lay_out(_boards(task, counts), space)
    kept = _placed_counts(task, counts, layout)
    out = [stack for stack in kept if not _keeps(task, stock, batch, stack, kept[stack])]
    if out:
        rest = {stack: some for stack, some in counts.items() if stack not in out}
        return laid_out(task, stock, batch, rest, exact=exact) if rest else None
    shares = {stack: stock.share(stack, some) for stack, some in kept.items()}
    smaller = make_batch(task, batch.kiln, batch.start, shares, batch.window)
    if smaller is None or smaller.days > batch.days:
        return None
    return Settled(smaller, kept, layout)


def _stowed(task: Task, stock: Stock, batch: Batch, layers: Layers) -> Settled | None:
    """The batch with the boards that lie in these layers. None if too empty, or a part is too small."""
    row = {task.lumber[stack].code: stack for stack in batch.window}
    counts = {stack: [0] * len(stock.left[stack]) for stack in batch.window}
    for board in (board for layer in layers for lane in layer for board in lane):
        stack = row[board.stack]
        lines = task.lumber[stack].pieces
        alike = [line for line, size in enumerate(lines) if size[:2] == (board.length_mm, board.width_mm)]
        line = next((line for line in alike if counts[stack][line] < stock.left[stack][line]), alike[-1])
        counts[stack][line] += 1
    kept = {stack: tuple(some) for stack, some in counts.items() if any(some)}
    if not all(_keeps(task, stock, batch, stack, some) for stack, some in kept.items()):
        return None
    made = make_batch(
        task, batch.kiln, batch.start, {s: stock.share(s, some) for s, some in kept.items()}, batch.window
    )
    if made is None or made.days > batch.days:
        return None
    return Settled(made, kept, drawn(layers, task.kilns[batch.kiln].space, {}))


def _keeps(task: Task, stock: Stock, batch: Batch, stack: int, counts: Sequence[int]) -> bool:
    """Whether what is placed of a stack may go: the whole stack, or a part that is not too small."""
    share = stock.share(stack, counts)
    if share >= 1 - LITTLE:
        return True
    return task.kilns[batch.kiln].divides and share >= task.rules.smallest_part - A_BOARD


def _final(task: Task, one: Settled, watch: Stopwatch) -> Settled:
    """Laid out once more by itself, exactly while there is time; the former places stand where that does not take
    every board."""
    if not isinstance(one.layout, Layout):
        return one
    space, woods = task.kilns[one.batch.kiln].space, _woods(task, one)
    again = lay_out(_boards(task, one.counts), space, woods=woods, exact=not watch.over())
    if not again.unplaced:
        return replace(one, layout=again)
    stands = drawn(_lanes(one.layout), space, woods)
    stands = replace(stands, layers_bound=again.layers_bound, attainable_m3=max(again.attainable_m3, stands.volume_m3))
    return replace(one, layout=replace(stands, of_attainable=min(1.0, again.layers_bound / len(stands.layers))))


def _lanes(layout: Layout) -> Layers:
    """The boards of a layout, layer by layer and lane by lane."""
    layers: dict[int, dict[int, list[Board]]] = {}
    for at in layout.placed:
        lane = layers.setdefault(at.layer, {}).setdefault(at.lane, [])
        lane.append(Board(at.stack, at.length_mm, at.width_mm, at.thickness_mm))
    return [list(lanes.values()) for lanes in layers.values()]


def _woods(task: Task, one: Settled) -> dict[str, StackWood]:
    """Mass and moisture of the stacks on the day of loading, where their density is known."""
    found = {}
    for stack in one.counts:
        lumber = task.lumber[stack]
        moisture = float(lumber.moisture_p50_pct[one.batch.start])
        if lumber.basic_density_kg_m3:
            found[lumber.code] = StackWood(lumber.basic_density_kg_m3 * (1 + moisture / 100), moisture)
    return found


def _packs_laid_out(task: Task, batch: Batch, counts: Counts) -> Settled | None:
    packs = [Pack(task.lumber[stack].code, *size) for stack in sorted(counts) if (size := task.lumber[stack].pack)]
    layout = lay_out_packs(packs, task.kilns[batch.kiln].space)
    return None if layout.unplaced else Settled(batch, counts, layout)


def _boards(task: Task, counts: Counts) -> list[Board]:
    boards = []
    for stack in sorted(counts):
        one = task.lumber[stack]
        for (length, width, _), count in zip(one.pieces, counts[stack], strict=True):
            boards += [Board(one.code, length, width, one.thickness_mm)] * count
    return boards


def _placed_counts(task: Task, counts: Counts, layout: Layout) -> dict[int, tuple[int, ...]]:
    """Boards of each tally line that were placed; of lines alike, the former ones give first."""
    out: dict[tuple[str, float, float], int] = {}
    for board in layout.unplaced:
        key = (board.stack, board.length_mm, board.width_mm)
        out[key] = out.get(key, 0) + 1
    kept = {}
    for stack in sorted(counts):
        code, some = task.lumber[stack].code, list(counts[stack])
        for line, (length, width, _) in enumerate(task.lumber[stack].pieces):
            missing = min(some[line], out.get((code, length, width), 0))
            some[line] -= missing
            if missing:
                out[code, length, width] -= missing
        kept[stack] = tuple(some)
    return kept


def remixed(task: Task, done: list[Settled], index: int, stock: Stock, watch: Stopwatch) -> None:
    """Fills a charge anew with those of its own and the free boards that bring most together, where that pays."""
    one, batch = done[index], done[index].batch
    if not task.kilns[batch.kiln].divides or watch.over(0.85):
        return
    able = [stack for stack in batch.window if task.days[batch.kiln, stack, batch.start] <= batch.days]
    stock.give_back(one.counts)
    have = {stack: stock.left[stack].tolist() for stack in able}
    elsewhere = {stack for number, other in enumerate(done) if number != index for stack in other.counts}
    dear = dict.fromkeys(elsewhere, task.rules.split_cost)
    layers = best_cargo(task, batch.kiln, batch.start, batch.days, have, dear=dear, watch=watch)
    other = _stowed(task, stock, batch, layers)
    if other is not None and _gains(task, done, index, other):
        done[index] = other
    stock.take(done[index].counts)


def topped_up(task: Task, done: list[Settled], index: int, stock: Stock, watch: Stopwatch) -> None:
    """Lets more boards of its own or other stacks into a charge, as far as they find a place and pay."""
    batch = done[index].batch
    if not task.kilns[batch.kiln].divides or watch.over(0.9):
        return
    able = [stack for stack in batch.window if task.days[batch.kiln, stack, batch.start] <= batch.days]
    for stack in by_density(task, batch.kiln, batch.start, batch.days, able):
        if stock.left[stack].sum() == 0 or watch.over(0.9) or not _has_room(task, done[index]):
            continue
        one = done[index]
        wanted = dict(one.counts)
        more = stock.left[stack] + np.array(wanted.get(stack, np.zeros_like(stock.left[stack])))
        wanted[stack] = tuple(more.tolist())
        stock.give_back(one.counts)
        wider = laid_out(task, stock, batch, wanted)
        if wider is not None and _gains(task, done, index, wider):
            done[index] = wider
        stock.take(done[index].counts)


def tidied(task: Task, done: list[Settled], index: int, stock: Stock) -> None:
    """Takes the last few boards of a stack along in place of boards of one that is parted anyway, for at most what a
    split costs: a rest too small to plan with is a nuisance in the yard."""
    one, batch = done[index], done[index].batch
    if not task.kilns[batch.kiln].divides:
        return
    rests = {stack: stock.left_share(stack) for stack in one.counts}
    crumbs = [stack for stack, rest in rests.items() if LITTLE < rest < task.rules.smallest_part]
    parted = [stack for stack, rest in rests.items() if rest >= task.rules.smallest_part]
    if not crumbs or not parted:
        return
    stock.give_back(one.counts)
    other = _swapped(task, stock, one, crumbs, parted[-1], rests)
    if other is not None and _value(task, done, index, other) >= _value(task, done, index, one) - task.rules.split_cost:
        done[index] = other
    stock.take(done[index].counts)


def _swapped(
    task: Task, stock: Stock, one: Settled, crumbs: Sequence[int], giver: int, rests: Mapping[int, float]
) -> Settled | None:
    """The same load with all that is left of `crumbs`, and as much less of `giver`, if all of it finds a place."""
    more = sum(rests[stack] * task.lumber[stack].volume_m3 for stack in crumbs) / task.lumber[giver].volume_m3
    have = stock.share(giver, one.counts[giver])
    for less in (more, 2 * more):
        if have - less < task.rules.smallest_part:
            return None
        wanted = {**one.counts, giver: stock.pick(giver, have - less)}
        wanted |= {stack: tuple(stock.left[stack].tolist()) for stack in crumbs}
        other = laid_out(task, stock, one.batch, wanted)
        if other is not None and dict(other.counts) == wanted:
            return other
    return None


def _has_room(task: Task, one: Settled) -> bool:
    """Open height or width that a board could use."""
    if not isinstance(one.layout, Layout):
        return False
    free = one.layout.space.height_mm - one.layout.height_mm
    thinnest = min(float(task.thickness[stack]) for stack in one.counts)
    tall = thinnest + one.layout.space.sticker_mm
    return free >= tall or any(layer.open_width_mm >= 70 for layer in one.layout.layers)


def _gains(task: Task, done: Sequence[Settled], index: int, other: Settled) -> bool:
    """Whether another load is worth more, each further stack that it parts at the price of a split."""
    one = done[index]
    further = max(0, _parted(other) - _parted(one))
    more = _value(task, done, index, other) - _value(task, done, index, one)
    return more > further * task.rules.split_cost + 1e-6


def _parted(one: Settled) -> int:
    return sum(1 for _, share in one.batch.shares if share < 1 - LITTLE)


def _value(task: Task, done: Sequence[Settled], index: int, one: Settled) -> float:
    return total(task, [one.batch if number == index else other.batch for number, other in enumerate(done)])
