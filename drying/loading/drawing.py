"""A load's coordinates and the order of its layers: full ones carry, heavy and wet ones low, what is incomplete on top.

Rules of stacking: common practice, no source; box piling from memory of the Dry Kiln Operator's Manual.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from drying.layout import Baffle, Board, Layer, Layout, Placed, Space, StackWood
from drying.loading.rests import lane_rests
from drying.loading.sampling import sample_places

Lane = Sequence[Board]
Woods = Mapping[str, StackWood]
COMPLETE = 0.9
"""A layer that fills this much of the width carries others (common practice, no source)."""
NARROW_MM, SHORT_MM = 30.0, 300.0
"""Openings beside the load, and at its end, up to these are left to the load's own unevenness: a choice."""


def drawn(layers: Sequence[Sequence[Lane]], space: Space, woods: Woods) -> Layout:
    """The load as it stands in the space, mm; what was not placed and the bounds are for the caller to fill in."""
    ordered = in_order(layers, space, woods)
    reach = max((_length(lane) for lanes in ordered for lane in lanes), default=space.length_mm)
    reach = reach if space.length_mm - reach >= SHORT_MM else space.length_mm
    placed: list[Placed] = []
    shown: list[Layer] = []
    z = 0.0
    for index, lanes in enumerate(ordered):
        z += space.sticker_mm
        boards = _placed(index, z, lanes, reach)
        placed += boards
        shown.append(_described(index, z, lanes, boards, space, reach, woods))
        z += lanes[0][0].thickness_mm
    volume = sum(volume_m3(lanes) for lanes in ordered)
    return Layout(
        space=space,
        placed=tuple(placed),
        layers=tuple(shown),
        unplaced=(),
        layers_bound=len(shown),
        volume_m3=volume,
        attainable_m3=volume,
        chamber_fill=volume * 1e9 / (space.length_mm * space.width_mm * space.height_mm),
        area_fill=_area_fill(shown, space),
        of_attainable=1.0,
        baffles=_baffles(shown, z, reach, space),
        rests=lane_rests(placed, space.length_mm),
        samples=sample_places(placed, shown, woods),
        mass_kg=_sum([layer.mass_kg for layer in shown]),
    )


def volume_m3(lanes: Iterable[Lane]) -> float:
    return sum(board.volume_m3 for lane in lanes for board in lane)


def width_mm(lanes: Iterable[Lane]) -> float:
    """Width of the lanes side by side, each as wide as its widest board."""
    return sum(max(board.width_mm for board in lane) for lane in lanes)


def in_order(layers: Sequence[Sequence[Lane]], space: Space, woods: Woods) -> list[Sequence[Lane]]:
    """From the floor up: complete layers before the others; of these the heaviest class of thickness (the thickest,
    where masses are unknown), in it the wettest layers, then the fullest."""
    areal: dict[float, list[float]] = defaultdict(list)
    for lanes in layers:
        thickness = lanes[0][0].thickness_mm
        areal[thickness].append(_areal(lanes, woods) or thickness)
    known = all(_mass_kg(lanes, woods) is not None for lanes in layers)
    weight = {t: sum(some) / len(some) if known else t for t, some in areal.items()}

    def rank(lanes: Sequence[Lane]) -> tuple[bool, float, float, float, float]:
        thickness, width = lanes[0][0].thickness_mm, width_mm(lanes)
        if width < COMPLETE * space.width_mm:
            return True, -width, 0.0, 0.0, 0.0
        return False, -weight[thickness], -thickness, -round(_moisture(lanes, woods), 1), -volume_m3(lanes)

    return sorted(layers, key=rank)


def _areal(lanes: Sequence[Lane], woods: Woods) -> float | None:
    """kg for each m2 of wood in a layer."""
    mass = _mass_kg(lanes, woods)
    area = volume_m3(lanes) * 1000 / lanes[0][0].thickness_mm
    return None if mass is None else mass / area


def _mass_kg(lanes: Iterable[Lane], woods: Woods) -> float | None:
    boards = [board for lane in lanes for board in lane]
    if not all(board.stack in woods for board in boards):
        return None
    return sum(board.volume_m3 * woods[board.stack].kg_per_m3 for board in boards)


def _moisture(lanes: Sequence[Lane], woods: Woods) -> float:
    boards = [board for lane in lanes for board in lane]
    wet = sum(board.volume_m3 * woods[board.stack].moisture_pct for board in boards if board.stack in woods)
    return wet / volume_m3(lanes)


def _sum(masses: Sequence[float | None]) -> float | None:
    known = [mass for mass in masses if mass is not None]
    return sum(known) if len(known) == len(masses) else None


def _length(lane: Lane) -> float:
    return sum(board.length_mm for board in lane)


def _area_fill(layers: Sequence[Layer], space: Space) -> float:
    area = space.length_mm * space.width_mm * len(layers)
    return 1 - sum(layer.open_mm2 for layer in layers) / area if layers else 0.0


def _placed(index: int, z_mm: float, lanes: Sequence[Lane], reach_mm: float) -> list[Placed]:
    """Longest lanes at the outer edges; lanes start in turn at either end, so that open ends do not lie side by side
    (box piling)."""
    ranked = sorted(lanes, key=lambda lane: -_length(lane))
    placed, y = [], 0.0
    for number, lane in enumerate(ranked[0::2] + ranked[1::2][::-1]):
        x = 0.0
        for board in lane:
            near = x if number % 2 == 0 else reach_mm - x - board.length_mm
            size = (board.length_mm, board.width_mm, board.thickness_mm)
            placed.append(Placed(board.stack, index, number, near, y, z_mm, *size))
            x += board.length_mm
        y += max(board.width_mm for board in lane)
    return placed


def _described(
    index: int,
    z_mm: float,
    lanes: Sequence[Lane],
    boards: Sequence[Placed],
    space: Space,
    reach_mm: float,
    woods: Woods,
) -> Layer:
    used = width_mm(lanes)
    ends = {round(one.x_mm, 1) for one in boards} | {round(one.x_mm + one.length_mm, 1) for one in boards}
    return Layer(
        index=index,
        thickness_mm=lanes[0][0].thickness_mm,
        z_mm=z_mm,
        used_width_mm=used,
        open_width_mm=space.width_mm - used,
        open_mm2=space.length_mm * space.width_mm - sum(one.length_mm * one.width_mm for one in boards),
        lanes=len(lanes),
        joints_mm=tuple(sorted(ends - {0.0, round(reach_mm, 1)})),
        complete=used >= COMPLETE * space.width_mm,
        mass_kg=_mass_kg(lanes, woods),
    )


def _baffles(layers: Sequence[Layer], top_mm: float, reach_mm: float, space: Space) -> tuple[Baffle, ...]:
    """What is open above the load, beyond its end and beside it."""
    found: list[Baffle] = []
    for layer in layers:
        width = layer.open_width_mm
        if width < NARROW_MM:
            continue
        last = found[-1] if found else None
        if last and last.to_layer == layer.index - 1 and abs(last.width_mm - width) < 20:
            found[-1] = Baffle("side", max(width, last.width_mm), last.from_layer, layer.index)
        else:
            found.append(Baffle("side", width, layer.index, layer.index))
    if layers and space.length_mm - reach_mm >= SHORT_MM:
        found.insert(0, Baffle("end", space.length_mm - reach_mm, 0, len(layers) - 1))
    if space.height_mm - top_mm >= NARROW_MM:
        found.insert(0, Baffle("top", space.height_mm - top_mm, len(layers), len(layers)))
    return tuple(found)
