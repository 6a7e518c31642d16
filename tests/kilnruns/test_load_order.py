"""The order of loading is one in which a load can be brought in; what goes in together is brought by place."""

import random

import pytest

from drying.load import Board, Space, lay_out
from kilnruns.planning.answer import drawn
from kilnruns.templatetags.load_drawing import load_of
from kilnruns.templatetags.load_order import marks_of
from kilnruns.templatetags.load_parts import levels_of
from tests.kilnruns.factories import packs_stood

CHAMBER = Space(6400, 2500, 2700, sticker_mm=80)


class Item:
    """What a page lists of a stack."""

    def __init__(self, code, place="Yard"):
        self.stack, self.code, self.place, self.volume_m3 = self, code, place, 1.0


def pack(code, tier, row, x, y, length=3000, width=1200):
    size = {"length_mm": length, "width_mm": width, "height_mm": 600}
    return {"stack": code, "tier": tier, "row": row, "x_mm": x, "y_mm": y, "z_mm": 80 + tier * 680, **size}


def packs(*rows):
    space = {"length_mm": 6400, "width_mm": 2500, "height_mm": 2700, "sticker_mm": 80}
    return {"kind": "pack", "space": space, "placed": list(rows)}


def order(layout, *items):
    given = items or [Item(code) for code in sorted({row["stack"] for row in layout["placed"]})]
    return [item.code for item, _mark in load_of(layout, given).items]


def test_rear_packs_go_in_before_those_in_front_and_lower_before_upper():
    below = [pack("FRONT", 0, 0, 0, 0), pack("REAR", 0, 0, 3000, 0)]
    layout = packs(*below, pack("FRONT-UP", 1, 0, 0, 0), pack("REAR-UP", 1, 0, 3000, 0))
    assert order(layout) == ["REAR", "REAR-UP", "FRONT", "FRONT-UP"]


def test_a_pack_waits_for_all_that_it_stands_on():
    layout = packs(pack("LONG", 0, 0, 0, 0, length=6000), pack("NEAR", 1, 0, 0, 0), pack("FAR", 1, 0, 3000, 0))
    assert order(layout) == ["LONG", "FAR", "NEAR"]


@pytest.mark.parametrize("seed", range(20))
def test_no_pack_of_any_load_is_called_for_before_what_bears_it_or_stands_behind_it(seed):
    dice = random.Random(seed)
    sizes = {f"P{n:02}": (dice.randrange(1500, 4000, 100), dice.choice([900, 1200]), dice.choice([500, 700]))
             for n in range(12)}  # fmt: skip
    layout = packs_stood(sizes, CHAMBER)
    called = order(layout)
    at = {row["stack"]: (called.index(row["stack"]), row) for row in layout["placed"]}
    for turn, one in at.values():
        for other_turn, other in at.values():
            same_row = (one["tier"], one["row"]) == (other["tier"], other["row"])
            if same_row and other["x_mm"] > one["x_mm"]:
                assert other_turn < turn, "what stands behind goes in first"
            if other["tier"] == one["tier"] - 1 and overlap(one, other):
                assert other_turn < turn, "what bears it goes in first"


def overlap(one, other):
    return all(
        min(one[at] + one[size], other[at] + other[size]) > max(one[at], other[at])
        for at, size in (("x_mm", "length_mm"), ("y_mm", "width_mm"))
    )


def by_hand(*boards):
    """(stack, layer, lane, x) of boards 2 m long."""
    space = {"length_mm": 4200, "width_mm": 1200, "height_mm": 1200, "sticker_mm": 20}
    size = {"length_mm": 2000, "width_mm": 150, "thickness_mm": 27}
    placed = [
        {"stack": stack, "layer": layer, "lane": lane, "x_mm": x, "y_mm": lane * 150, "z_mm": 20 + layer * 47, **size}
        for stack, layer, lane, x in boards
    ]
    return {"kind": "hand", "space": space, "placed": placed}


def test_by_hand_the_bottom_layers_come_first_and_in_a_layer_the_far_end():
    layout = by_hand(("ABOVE", 1, 0, 0), ("NEAR", 0, 0, 0), ("FAR", 0, 0, 2000), ("FAR-TOO", 0, 1, 0))
    items = [Item("ABOVE", "A"), Item("NEAR", "A"), Item("FAR", "B"), Item("FAR-TOO", "C")]
    assert order(layout, *items) == ["FAR", "FAR-TOO", "NEAR", "ABOVE"]


def test_what_goes_in_together_is_brought_by_place_and_not_by_letter():
    layout = by_hand(*((f"S{n}", 0, n, 0) for n in range(4)))
    items = [Item("S0", "Shed"), Item("S1", "Barn"), Item("S2", "Shed"), Item("S3", "Barn")]
    load = load_of(layout, items)
    assert [(item.code, mark.letter) for item, mark in load.items] == [
        ("S1", "B"),
        ("S3", "D"),
        ("S0", "A"),
        ("S2", "C"),
    ]


def test_letters_stay_while_stacks_are_brought():
    layout = by_hand(*((f"S{n}", 0, n, 0) for n in range(3)))
    before, after = (
        {item.code: mark.letter for item, mark in load_of(layout, [Item(f"S{n}", place) for n in range(3)]).items}
        for place in ("Barn", "Kiln")
    )
    assert before == after


def test_every_stack_of_a_real_load_has_one_letter():
    boards = [Board(f"S{n % 9}", 1500 + 100 * (n % 11), 100 + 10 * (n % 7), 27) for n in range(150)]
    levels = levels_of(drawn(lay_out(boards, Space(4200, 1200, 1200, sticker_mm=20))))
    marks = marks_of(levels)
    assert sorted(mark.letter for mark in marks.values()) == list("ABCDEFGHI")
    assert sum(mark.pieces for mark in marks.values()) == 150
