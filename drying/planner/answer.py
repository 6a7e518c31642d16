"""Settled batches into the plan's charges, with the figures a person asks for."""

from collections.abc import Mapping, Sequence

import numpy as np

from drying.layout import Board, Layout, Pack, PackLayout, Space
from drying.loading.packs import attainable_share, can_enter
from drying.packing.bars import attainable_m3
from drying.planner.book import taken
from drying.planner.settle import Settled
from drying.planner.task import NEVER, Task
from drying.planner.windows import Window
from drying.proposal import PlannedCharge, Share

Bounds = dict[tuple[int, tuple[int, ...]], float]


def charges(task: Task, done: Sequence[Settled], offered: Mapping[int, Sequence[Window]]) -> tuple[PlannedCharge, ...]:
    """By start and kiln."""
    return tuple(_charge(task, one, offered[one.batch.kiln]) for one in done)


def _charge(task: Task, one: Settled, offered: Sequence[Window]) -> PlannedCharge:
    batch = one.batch
    stacks = np.array([stack for stack, _ in batch.shares])
    part = np.array([share for _, share in batch.shares])
    start, days = np.array(batch.start), np.array(batch.days)
    plain = task.gain(batch.kiln, stacks, start, days) - task.order[stacks] - task.kept[batch.kiln, stacks, batch.start]
    lasting = task.days[batch.kiln, stacks, batch.start]
    moisture = [float(task.lumber[stack].moisture_p50_pct[batch.start]) for stack in stacks]
    fill, bound = fills(task, one, offered)
    shares = tuple(_share(task, stack, share, one) for stack, share in batch.shares)
    return PlannedCharge(
        kiln=task.kilns[batch.kiln].code,
        start_day=batch.start,
        days=batch.days,
        group=task.lumber[stacks[0]].group,
        shares=shares,
        volume_m3=sum(share.volume_m3 for share in shares),
        fill=fill,
        fill_bound=bound,
        of_attainable=min(1.0, fill / bound) if bound > 0 else 1.0,
        space_taken=min(1.0, taken(task, batch.kiln, batch.shares)),
        layout=one.layout,
        value=float(plain @ part),
        cost=task.cost(batch.kiln, batch.start, batch.days, taken(task, batch.kiln, batch.shares)),
        late=float(task.late(stacks, np.array(batch.end)) @ part),
        driver=task.lumber[stacks[int(np.argmax(lasting))]].code,
        moisture_from_pct=min(moisture),
        moisture_to_pct=max(moisture),
        due_slack_days=_slack(task, stacks, batch.end),
    )


def _share(task: Task, stack: int, share: float, one: Settled) -> Share:
    lumber = task.lumber[stack]
    return Share(lumber.code, share, share * lumber.volume_m3, tuple(one.counts[stack]))


def _slack(task: Task, stacks: np.ndarray, end: int) -> int | None:
    due = int(task.due[stacks].min())
    return None if due >= NEVER else due - end


def fills(task: Task, one: Settled, offered: Sequence[Window]) -> tuple[float, float]:
    """Fill of the net space, and a proven bound of it for all that could have gone along that day."""
    batch, space = one.batch, task.kilns[one.batch.kiln].space
    members = {stack for stack, _ in batch.shares}
    alike = sorted({
        stack
        for window in offered
        if window.start == batch.start and members <= set(window.stacks)
        for stack in window.stacks
    } | members)  # fmt: skip
    if isinstance(one.layout, PackLayout):
        packs = [Pack(task.lumber[stack].code, *size) for stack in alike if (size := task.lumber[stack].pack)]
        bound = attainable_share([pack for pack in packs if can_enter(pack, space)], space)
        return one.layout.chamber_fill, max(bound, one.layout.chamber_fill)
    boards = [
        Board(task.lumber[stack].code, length, width, task.lumber[stack].thickness_mm)
        for stack in alike
        for length, width, count in task.lumber[stack].pieces
        for _ in range(count)
    ]
    net = net_space_m3(one.layout, space)
    fill = one.layout.volume_m3 / net
    return fill, min(1.0, max(fill, attainable_m3(boards, space) / net))


def net_space_m3(layout: Layout, space: Space) -> float:
    """Wood that the layers used, and further ones of the thinnest above them, would hold without any gap."""
    thinnest = min(layer.thickness_mm for layer in layout.layers)
    further = int((space.height_mm - layout.height_mm + 1e-6) // (thinnest + space.sticker_mm))
    used = sum(space.layer_m3(layer.thickness_mm) for layer in layout.layers)
    return used + further * space.layer_m3(thinnest)
