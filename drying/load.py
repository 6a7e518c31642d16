"""The load of one charge: boards into lanes, lanes into layers, layers into the chamber; packs into rows and tiers.

Layers are of one thickness on stickers; full layers carry the load, thick ones low, what is incomplete on top. Sizes in
mm; ValueError for a board, pack or space that cannot be. Geometry; rules of stacking: common practice, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from drying.layout import (
    Baffle,
    Board,
    LaneRest,
    Layer,
    Layout,
    Pack,
    PackLayout,
    Placed,
    PlacedPack,
    SamplePlace,
    Space,
    StackWood,
)  # fmt: skip
from drying.loading.drawing import drawn, volume_m3
from drying.loading.layers import layered
from drying.loading.packs import lay_out_packs
from drying.loading.rows import tuck_in
from drying.packing.bars import attainable_m3
from drying.packing.knapsack import knapsack

__all__ = [
    "Baffle", "Board", "LaneRest", "Layer", "Layout", "Pack", "PackLayout", "Placed", "PlacedPack", "SamplePlace",
    "Space", "StackWood", "lay_out", "lay_out_packs",
]  # fmt: skip

Row = list[Board]


def lay_out(
    boards: Sequence[Board], space: Space, *, exact: bool = True, woods: Mapping[str, StackWood] | None = None
) -> Layout:
    """Lays out as many of the boards as fit, the most volume first; `exact` proves the number of layers where it
    can and takes several times as long, without it the bounds are by area and height alone.

    `woods` by stack put the heavy and wet ones low and give the layers' masses, kg. Boards that cannot be brought in,
    and those for whose layers the height is too small, come back as `unplaced`. Sizes in mm, areas mm2, volumes m3.
    """
    ordered = sorted(boards, key=lambda one: (one.stack, -one.thickness_mm, -one.width_mm, -one.length_mm))
    able = [one for one in ordered if _enters(one, space)]
    layers, bound = layered(able, space, exact)
    kept = _within_height(layers, space)
    chosen = [layers[index] for index in sorted(kept)]
    loose = [board for index, rows in enumerate(layers) if index not in kept for row in rows for board in row]
    dropped = tuck_in(chosen, loose, space.length_mm, space.width_mm)
    unplaced = [one for one in ordered if not _enters(one, space)] + dropped
    whole = sum(one.volume_m3 for one in able)
    limit = min(whole, attainable_m3(able, space)) if exact else whole
    volume = sum(volume_m3(rows) for rows in chosen)
    return replace(
        drawn(chosen, space, woods or {}),
        unplaced=tuple(unplaced),
        layers_bound=bound,
        attainable_m3=limit,
        of_attainable=_of_attainable(len(chosen), bound, volume, limit, fits=not dropped),
    )


def _enters(one: Board, space: Space) -> bool:
    return one.length_mm <= space.reach_mm and one.width_mm <= space.width_mm


def _within_height(layers: Sequence[Sequence[Row]], space: Space) -> set[int]:
    """The layers of most volume whose heights fit."""
    tall = [10 * (rows[0][0].thickness_mm + space.sticker_mm) for rows in layers]
    heights = [int(-(-(one - 1e-6) // 1)) for one in tall]
    if sum(heights) <= 10 * space.height_mm:
        return set(range(len(layers)))
    _, counts = knapsack([volume_m3(rows) for rows in layers], heights, [1] * len(layers), int(10 * space.height_mm))
    return {index for index, count in enumerate(counts) if count}


def _of_attainable(layers: int, bound: int, volume: float, limit: float, fits: bool) -> float:
    if not layers:
        return 1.0
    return min(1.0, bound / layers) if fits else min(1.0, volume / limit)
