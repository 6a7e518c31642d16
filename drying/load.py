"""The load of one charge: boards into lanes, lanes into layers, layers into the chamber; packs into rows and tiers.

Layers are of one thickness on stickers; full layers carry the load, thick ones low, what is incomplete on top. Sizes in
mm; ValueError for a board, pack or space that cannot be. Geometry; rules of stacking: common practice, no source.
"""

from collections.abc import Sequence

from drying.layout import Baffle, Board, Layer, Layout, Pack, PackLayout, Placed, PlacedPack, Space
from drying.loading.layers import layered
from drying.loading.packs import lay_out_packs
from drying.loading.rows import tuck_in
from drying.packing.bars import attainable_m3
from drying.packing.knapsack import knapsack

__all__ = [
    "Baffle",
    "Board",
    "Layer",
    "Layout",
    "Pack",
    "PackLayout",
    "Placed",
    "PlacedPack",
    "Space",
    "lay_out",
    "lay_out_packs",
]

Row = list[Board]
COMPLETE = 0.9
"""A layer that fills this much of the width carries others (common practice, no source)."""


def lay_out(boards: Sequence[Board], space: Space, *, exact: bool = True) -> Layout:
    """Lays out as many of the boards as fit, the most volume first; `exact` proves the number of layers where it
    can and takes several times as long, without it the bounds are by area and height alone.

    Boards that cannot be brought in, and those for whose layers the height is too small, come back as `unplaced`. Sizes
    in mm, areas mm2, volumes m3.
    """
    ordered = sorted(boards, key=lambda one: (one.stack, -one.thickness_mm, -one.width_mm, -one.length_mm))
    able = [one for one in ordered if _enters(one, space)]
    layers, bound = layered(able, space, exact)
    kept = _within_height(layers, space)
    chosen = [layers[index] for index in sorted(kept)]
    loose = [board for index, rows in enumerate(layers) if index not in kept for row in rows for board in row]
    dropped = tuck_in(chosen, loose, space.length_mm, space.width_mm)
    shown = sorted(chosen, key=lambda rows: _weight_order(rows, space))
    unplaced = [one for one in ordered if not _enters(one, space)] + dropped
    whole = sum(one.volume_m3 for one in able)
    limit = min(whole, attainable_m3(able, space)) if exact else whole
    return _drawn(shown, space, tuple(unplaced), bound, limit, fits=not dropped)


def _enters(one: Board, space: Space) -> bool:
    return one.length_mm <= space.reach_mm and one.width_mm <= space.width_mm


def _volume(rows: Sequence[Row]) -> float:
    return sum(board.volume_m3 for row in rows for board in row)


def _width(rows: Sequence[Row]) -> float:
    return sum(max(board.width_mm for board in row) for row in rows)


def _within_height(layers: Sequence[Sequence[Row]], space: Space) -> set[int]:
    """The layers of most volume whose heights fit."""
    tall = [10 * (rows[0][0].thickness_mm + space.sticker_mm) for rows in layers]
    heights = [int(-(-(one - 1e-6) // 1)) for one in tall]
    if sum(heights) <= 10 * space.height_mm:
        return set(range(len(layers)))
    _, counts = knapsack([_volume(rows) for rows in layers], heights, [1] * len(layers), int(10 * space.height_mm))
    return {index for index, count in enumerate(counts) if count}


def _weight_order(rows: Sequence[Row], space: Space) -> tuple[bool, float, float]:
    """Complete layers first, the thick ones lowest, and of one thickness the fuller ones."""
    width = _width(rows)
    incomplete = width < COMPLETE * space.width_mm
    return incomplete, -width if incomplete else -rows[0][0].thickness_mm, -_volume(rows)


def _drawn(
    layers: Sequence[Sequence[Row]],
    space: Space,
    unplaced: tuple[Board, ...],
    bound: int,
    limit: float,
    fits: bool,
) -> Layout:
    placed: list[Placed] = []
    drawn: list[Layer] = []
    z = 0.0
    for index, rows in enumerate(layers):
        z += space.sticker_mm
        boards = _draw_layer(index, z, rows, space)
        placed += boards
        drawn.append(_describe(index, z, rows, boards, space))
        z += rows[0][0].thickness_mm
    volume = sum(_volume(rows) for rows in layers)
    return Layout(
        space=space,
        placed=tuple(placed),
        layers=tuple(drawn),
        unplaced=unplaced,
        layers_bound=bound,
        volume_m3=volume,
        attainable_m3=limit,
        chamber_fill=volume * 1e9 / (space.length_mm * space.width_mm * space.height_mm),
        area_fill=_area_fill(drawn, space),
        of_attainable=_of_attainable(len(layers), bound, volume, limit, fits),
        baffles=_baffles(drawn, z, space),
    )


def _of_attainable(layers: int, bound: int, volume: float, limit: float, fits: bool) -> float:
    if not layers:
        return 1.0
    return min(1.0, bound / layers) if fits else min(1.0, volume / limit)


def _area_fill(layers: Sequence[Layer], space: Space) -> float:
    area = space.length_mm * space.width_mm * len(layers)
    return 1 - sum(layer.open_mm2 for layer in layers) / area if layers else 0.0


def _draw_layer(index: int, z_mm: float, rows: Sequence[Row], space: Space) -> list[Placed]:
    """Longest lanes at the outer edges; lanes start in turn at either end, so that open ends do not lie side by side
    (box piling, from memory of the Dry Kiln Operator's Manual)."""
    ranked = sorted(rows, key=lambda row: -sum(board.length_mm for board in row))
    placed, y = [], 0.0
    for lane, row in enumerate(ranked[0::2] + ranked[1::2][::-1]):
        x = 0.0
        for board in row:
            near = x if lane % 2 == 0 else space.length_mm - x - board.length_mm
            size = (board.length_mm, board.width_mm, board.thickness_mm)
            placed.append(Placed(board.stack, index, lane, near, y, z_mm, *size))
            x += board.length_mm
        y += max(board.width_mm for board in row)
    return placed


def _describe(index: int, z_mm: float, rows: Sequence[Row], boards: Sequence[Placed], space: Space) -> Layer:
    used = _width(rows)
    ends = {round(one.x_mm, 1) for one in boards} | {round(one.x_mm + one.length_mm, 1) for one in boards}
    return Layer(
        index=index,
        thickness_mm=rows[0][0].thickness_mm,
        z_mm=z_mm,
        used_width_mm=used,
        open_width_mm=space.width_mm - used,
        open_mm2=space.length_mm * space.width_mm - sum(one.length_mm * one.width_mm for one in boards),
        lanes=len(rows),
        joints_mm=tuple(sorted(ends - {0.0, round(space.length_mm, 1)})),
        complete=used >= COMPLETE * space.width_mm,
    )


def _baffles(layers: Sequence[Layer], top_mm: float, space: Space) -> tuple[Baffle, ...]:
    """What is open above the load and beside it; strips under 30 mm are left to the load's own unevenness."""
    found: list[Baffle] = []
    for layer in layers:
        width = layer.open_width_mm
        if width < 30:
            continue
        last = found[-1] if found else None
        if last and last.to_layer == layer.index - 1 and abs(last.width_mm - width) < 20:
            found[-1] = Baffle("side", max(width, last.width_mm), last.from_layer, layer.index)
        else:
            found.append(Baffle("side", width, layer.index, layer.index))
    if space.height_mm - top_mm >= 30:
        found.insert(0, Baffle("top", space.height_mm - top_mm, len(layers), len(layers)))
    return tuple(found)
