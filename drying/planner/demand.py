"""How much of a kiln one whole stack needs: what the selection counts with before a charge is really laid out."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from drying.layout import Pack, Space
from drying.loading.packs import can_enter, reach_mm
from drying.offers import KilnOffer, Lumber, Rules
from drying.packing.bars import Supply, needed_width_mm
from drying.planner.joint import Joint

Widths = dict[tuple[int, tuple[tuple[int, tuple[float, int, float]], ...]], float]


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """By kiln and stack: `share` of the chamber's height (boards) or volume (packs), `layers` of boards.

    Infinite where the stack cannot go in. Sums of shares never understate what a charge of packs needs at least; for
    boards they overstate it, as lengths of different stacks may complement each other: `joint` (by kiln, those loaded
    by hand alone) tells what a load needs together.
    """

    share: np.ndarray
    layers: np.ndarray
    joint: dict[int, Joint] = field(default_factory=dict)


def demand(lumber: Sequence[Lumber], kilns: Sequence[KilnOffer], rules: Rules) -> Demand:
    share = np.full((len(kilns), len(lumber)), np.inf)
    layers = np.full_like(share, np.inf)
    joint: dict[int, Joint] = {}
    alike: dict[tuple[object, ...], Joint] = {}
    known: Widths = {}
    for row, kiln in enumerate(kilns):
        if kiln.loading == "pack":
            share[row] = _packs(lumber, kiln.space)
            layers[row] = share[row]
            joint[row] = Joint(lumber, (), kiln.space, rules.demand_margin)
        else:
            for column, one in enumerate(lumber):
                layers[row, column] = _board_layers(one, kiln.space, rules.demand_margin, known)
                height = one.thickness_mm + kiln.space.sticker_mm
                share[row, column] = layers[row, column] * height / kiln.space.height_mm
            able = [int(one) for one in np.flatnonzero(np.isfinite(share[row]))]
            key = (kiln.space, tuple(able))
            joint[row] = alike[key] = alike.get(key) or Joint(lumber, able, kiln.space, rules.demand_margin)
    return Demand(share, layers, joint)


def _board_layers(one: Lumber, space: Space, margin: float, known: Widths) -> float:
    """Layers, not rounded, by the bound on lane width of its own boards, with a margin for what packing loses."""
    pieces = [piece for piece in one.pieces if piece[2] > 0]
    if not pieces or max(length for length, _, _ in pieces) > space.reach_mm:
        return np.inf
    if max(width for _, width, _ in pieces) > space.width_mm or space.layers_of(one.thickness_mm) == 0:
        return np.inf
    lengths: Supply = {}
    for length, width, count in sorted(pieces):
        before = lengths.get(int(length), (0.0, 0, 0.0))
        lengths[int(length)] = (before[0] + width * count, before[1] + count, max(before[2], length))
    key = (int(space.length_mm), tuple(lengths.items()))
    if key not in known:
        known[key] = needed_width_mm(lengths, space.length_mm)
    return margin * known[key] / space.width_mm


def _packs(lumber: Sequence[Lumber], space: Space) -> list[float]:
    """Volume of each pack on its bolster over what packs of its group can take of the space at most."""
    able = [one for one in lumber if one.pack and can_enter(Pack(one.code, *one.pack), space)]
    most = {}
    for group in {one.group for one in able}:
        kin = [one.pack for one in able if one.group == group and one.pack]
        along = reach_mm([length for length, _, _ in kin], space.length_mm)
        across = reach_mm([width for _, width, _ in kin], space.width_mm)
        most[group] = along * across * reach_mm([height + space.sticker_mm for *_, height in kin], space.height_mm)
    inside = {one.code for one in able}
    return [
        one.pack[0] * one.pack[1] * (one.pack[2] + space.sticker_mm) / most[one.group]
        if one.pack and one.code in inside
        else np.inf
        for one in lumber
    ]
