"""How much of a kiln one whole stack needs: what the selection counts with before a charge is really laid out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.bars import Supply, needed_width_mm
from drying.layout import Pack, Space
from drying.offers import KilnOffer, Lumber, Rules
from drying.packs import can_enter, reach_mm


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """By kiln and stack: `share` of the chamber's height (boards) or row length (packs), `layers` of boards.

    Infinite where the stack cannot go in. Sums of shares never understate what a charge of packs needs at least; for
    boards they overstate it, as lengths of different stacks may complement each other.
    """

    share: np.ndarray
    layers: np.ndarray


def demand(lumber: Sequence[Lumber], kilns: Sequence[KilnOffer], rules: Rules) -> Demand:
    share = np.full((len(kilns), len(lumber)), np.inf)
    layers = np.full_like(share, np.inf)
    for row, kiln in enumerate(kilns):
        if kiln.loading == "pack":
            share[row] = _packs(lumber, kiln.space)
            layers[row] = share[row]
        else:
            for column, one in enumerate(lumber):
                layers[row, column] = _board_layers(one, kiln.space, rules.demand_margin)
                height = one.thickness_mm + kiln.space.sticker_mm
                share[row, column] = layers[row, column] * height / kiln.space.height_mm
    return Demand(share, layers)


def _board_layers(one: Lumber, space: Space, margin: float) -> float:
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
    return margin * needed_width_mm(lengths, space.length_mm) / space.width_mm


def _packs(lumber: Sequence[Lumber], space: Space) -> list[float]:
    """Length of each pack over the row length there is: rows and tiers of the smallest pack of its group."""
    able = {one.code for one in lumber if one.pack and can_enter(Pack(one.code, *one.pack), space)}
    shares = []
    for one in lumber:
        if one.pack is None or one.code not in able:
            shares.append(np.inf)
            continue
        kin = [other.pack for other in lumber if other.code in able and other.group == one.group and other.pack]
        rows = space.width_mm // min(pack[1] for pack in kin)
        tiers = space.height_mm // (min(pack[2] for pack in kin) + space.sticker_mm)
        shares.append(one.pack[0] / (rows * tiers * reach_mm([pack[0] for pack in kin], space.length_mm)))
    return shares
