"""The drawn load: to scale, nothing left out, the same in the table as in the picture."""

from itertools import pairwise

import pytest
from django.template.loader import render_to_string

from drying.load import Board, Space, lay_out
from kilnruns.planning.answer import drawn
from kilnruns.templatetags.load_drawing import load_of
from kilnruns.templatetags.load_order import letter, marks_of
from kilnruns.templatetags.load_paper import MOST_COLUMNS, columns_on_paper
from kilnruns.templatetags.load_parts import STICKER_SPACING_MM, levels_of, stickers
from tests.kilnruns.factories import packs_stood

ROOM = Space(6000, 1200, 400, sticker_mm=20)


class Item:
    def __init__(self, code, volume_m3=1.0):
        self.stack, self.volume_m3 = self, volume_m3
        self.code = code


def boards(**counts):
    """A load of boards 3 m x 150 x 27 mm, so many of each stack."""
    return drawn(lay_out([Board(code, 3000, 150, 27) for code, count in counts.items() for _ in range(count)], ROOM))


def number(text):
    return float(text)


def test_every_board_is_drawn_in_its_layer_and_listed_in_the_table():
    load = load_of(boards(ASH=20, OAK=9))
    assert sum(len(panel.boxes) * panel.count for panel in load.panels) == 29
    assert sum(len(row.pieces) for row in load.rows) == 29


def test_a_layer_is_drawn_to_scale():
    layout = boards(ASH=4)
    panel = load_of(layout).panels[0]
    scale = 360 / 6000
    for box, row in zip(panel.boxes, layout["placed"], strict=True):
        assert number(box.width) == pytest.approx(row["length_mm"] * scale, abs=0.06)
        assert number(box.height) == pytest.approx(row["width_mm"] * scale, abs=0.06)
        assert number(box.x) == pytest.approx(row["x_mm"] * scale, abs=0.06)


def test_the_end_view_keeps_the_chambers_proportions():
    end = load_of(boards(ASH=20)).end
    assert number(end.space.width) / number(end.space.height) == pytest.approx(1200 / 400, rel=0.01)


def test_the_end_view_has_one_face_a_lane_and_stands_on_stickers():
    layout = boards(ASH=20)
    load = load_of(layout)
    assert len(load.end.boxes) == sum(layer["lanes"] for layer in layout["layers"])
    assert len(load.end.stickers) == load.levels == len(layout["layers"])


def test_the_lowest_layer_is_drawn_lowest():
    load = load_of(boards(ASH=20))
    tops = [number(box.y) for box in load.end.stickers]
    assert tops == sorted(tops, reverse=True)


def test_layers_alike_share_a_drawing_that_says_which():
    panels = load_of(boards(ASH=48)).panels
    assert [(panel.first, panel.last, panel.count) for panel in panels] == [(1, 3, 3)]


def test_a_stacks_letter_and_hatch_are_the_same_everywhere():
    load = load_of(boards(ASH=20, OAK=9), [Item("ASH"), Item("OAK")])
    hatches = {mark.letter: mark.hatch for _, mark in load.items}
    for panel in load.panels:
        for box in panel.boxes:
            if box.words:
                assert box.hatch == hatches[box.words[0]]
    assert sorted(hatches) == ["A", "B"]


def test_the_first_letter_goes_to_what_is_loaded_first():
    layout = boards(ASH=20, OAK=9)
    first = next(row["stack"] for row in layout["placed"] if row["layer"] == 0)
    assert marks_of(levels_of(layout))[first].letter == "A"


@pytest.mark.parametrize(("place", "name"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ")])
def test_letters_go_on_after_z(place, name):
    assert letter(place) == name


def test_a_layers_mass_is_its_woods():
    load = load_of(boards(ASH=16), [Item("ASH")], {"ASH": 700.0})
    assert load.panels[0].mass_kg == pytest.approx(16 * 3 * 0.15 * 0.027 * 700)
    assert load.heaviest.kg == pytest.approx(3 * 0.15 * 0.027 * 700)


def test_no_mass_is_told_where_one_stacks_is_not_known():
    load = load_of(boards(ASH=20, OAK=9), [Item("ASH"), Item("OAK")], {"ASH": 700.0})
    assert load.heaviest is None


def test_a_packs_mass_is_its_woods_not_its_boxs():
    layout = packs_stood({"ASH": (4000, 1200, 500)}, Space(6000, 2500, 2700, sticker_mm=80))
    load = load_of(layout, [Item("ASH", volume_m3=1.1)], {"ASH": 700.0})
    assert load.heaviest.kg == pytest.approx(1.1 * 700)


def test_packs_are_drawn_tier_by_tier():
    sizes = {f"P{n}": (3000, 1200, 1200) for n in range(6)}
    load = load_of(packs_stood(sizes, Space(6000, 2500, 2700, sticker_mm=80)))
    assert not load.by_hand
    assert (load.levels, sum(len(panel.boxes) for panel in load.panels)) == (2, 6)


def test_what_stays_open_is_named_and_counted_from_one():
    openings = load_of(boards(ASH=16)).openings
    top = next(one for one in openings if one.where == "top")
    assert top.width_mm == 400 - 47
    assert all(one.first >= 1 for one in openings)


def test_regular_stickers_lie_at_both_ends_and_never_too_far_apart():
    places = stickers(5300)
    assert (places[0], places[-1]) == (0, 5300)
    assert max(b - a for a, b in pairwise(places)) <= STICKER_SPACING_MM


def test_a_joint_near_a_regular_sticker_needs_none_of_its_own():
    layout = boards(ASH=16)
    assert layout["layers"][0]["joints_mm"] == (3000.0,)
    assert load_of(layout).panels[0].joints == []


def test_a_joint_between_stickers_gets_its_own():
    odd = drawn(lay_out([Board("ASH", 2750, 150, 27) for _ in range(16)], ROOM))
    assert load_of(odd).panels[0].joints


def test_the_more_panels_the_more_stand_side_by_side_on_paper():
    space = {"length_mm": 5300, "width_mm": 1250}
    columns = [columns_on_paper(space, count) for count in (1, 3, 8, 12, 16, 27)]
    assert columns[:2] == [1, 2]
    assert columns == sorted(columns)
    assert columns_on_paper(space, 500) == MOST_COLUMNS


def test_an_end_that_stays_open_is_told_as_an_end():
    short = drawn(lay_out([Board("ASH", 4000, 150, 27) for _ in range(8)], ROOM))
    told = " ".join(render_to_string("kilnruns/_load_baffles.html", {"load": load_of(short)}).split())
    assert "At the end away from the door: 2,000 mm" in told.replace("\u202f", " ")
