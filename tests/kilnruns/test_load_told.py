"""What a loader is told beside the drawing: the plan's sample boards, masses, what stays free, how to lift."""

import pytest
from django.template.loader import render_to_string

from drying.layout import StackWood
from drying.load import Board, Space, lay_out
from kilnruns.planning.answer import drawn
from kilnruns.templatetags.load_drawing import load_of
from tests.kilnruns.factories import charge_of, packs_stood, ready_stack
from tests.kilnruns.test_load_order import Item
from tests.kilnruns.test_views_loading import words
from yard.actions.tags import replace
from yard.models.tagcode import shown

ROOM = Space(4200, 1200, 1200, sticker_mm=20)
WOODS = {"ASH": StackWood(700.0, 20.0), "OAK": StackWood(900.0, 30.0)}


def planned(thickness_mm=27, length_mm=3000, **counts):
    """A load as a plan keeps it, with its masses."""
    boards = [Board(code, length_mm, 150, thickness_mm) for code, count in counts.items() for _ in range(count)]
    return drawn(lay_out(boards, ROOM, woods=WOODS))


def said(template, load, **context):
    text = " ".join(render_to_string(template, {"load": load, **context}).split())
    return text.replace("\u202f", " ")


def test_sample_boards_are_where_the_plan_wants_them():
    layout = planned(ASH=120, OAK=40)
    load = load_of(layout)
    marks = {mark.code: mark.letter for row in load.rows for mark, _piece in row.pieces}
    told = {
        ("left" if side.side != "right" else "right", spot.level, spot.letter)
        for side in load.samples
        for spot in side.spots
    }
    if load.samples[0].side == "both":
        told |= {("right", level, letter) for _side, level, letter in told}
    wanted = {
        ("left" if row["side"] == "enters" else "right", row["layer"] + 1, marks[row["stack"]])
        for row in layout["samples"]
    }
    assert told == wanted
    quarters = {len(layout["layers"]) // 4 + 1, len(layout["layers"]) - len(layout["layers"]) // 4}
    assert {level for _side, level, _letter in told} != quarters


def test_a_sample_board_is_marked_on_the_outer_edge_of_its_own_board():
    layout = planned(ASH=120, OAK=40)
    end = load_of(layout).end
    left, width = float(end.space.x), float(end.space.width)
    for mark, row in zip(end.samples, layout["samples"], strict=True):
        edge = row["y_mm"] if row["side"] == "enters" else row["y_mm"] + 150
        assert float(mark.x) == pytest.approx(left + edge / 1200 * width, abs=0.1)


def test_a_layout_kept_before_plans_chose_has_them_low_and_high_on_both_sides():
    old = {name: value for name, value in planned(ASH=120).items() if name != "samples"}
    sides = load_of(old).samples
    assert [(side.side, [spot.level for spot in side.spots]) for side in sides] == [("both", [4, 12])]
    assert said("kilnruns/_load_samples.html", load_of(old)).startswith(
        "◆ Sample boards, at the door end, on both sides: A in layer 4, A in layer 12"
    )


def test_a_part_that_goes_by_another_code_keeps_its_sample_places():
    layout = planned(ASH=120)
    layout = {**layout, "placed": [{**row, "stack": "PART"} for row in layout["placed"]]}
    assert [spot.level - 1 for side in load_of(layout).samples for spot in side.spots] == sorted(
        {row["layer"] for row in layout["samples"]}
    )


def test_a_sample_board_that_begins_further_in_says_how_far():
    layout = planned(ASH=120)
    placed = [{**row, "x_mm": 1000.0} if (row["layer"], row["lane"]) == (2, 0) else row for row in layout["placed"]]
    sample = {"side": "enters", "stack": "ASH", "layer": 2, "lane": 0, "x_mm": 1000.0, "y_mm": 0, "z_mm": 0}
    load = load_of(layout | {"placed": placed, "samples": [sample]})
    assert "on the left: A in layer 3 (1.00 m in)" in said("kilnruns/_load_samples.html", load)


def test_masses_are_the_plans_where_no_forecast_tells_a_newer_one():
    layout = planned(ASH=24)
    load = load_of(layout, [Item("ASH")])
    assert load.mass_kg == pytest.approx(layout["mass_kg"]) == pytest.approx(24 * 3 * 0.15 * 0.027 * 700)
    assert load.panels[0].mass_kg == pytest.approx(layout["layers"][0]["mass_kg"])
    newer = load_of(layout, [Item("ASH")], {"ASH": 600.0})
    assert newer.mass_kg == pytest.approx(load.mass_kg * 600 / 700)


def test_what_stays_free_is_told_with_the_boards_that_fit_and_where():
    load = load_of(planned(ASH=24))
    text = said("kilnruns/_load_rests.html", load)
    assert "1.20 m of 24 lanes: boards of 0.90 m to 1.20 m fit" in text
    assert "(layers 1–3)" in text


def test_a_load_whose_layout_keeps_no_rests_says_nothing_of_them():
    old = {name: value for name, value in planned(ASH=24).items() if name != "rests"}
    assert said("kilnruns/_load_rests.html", load_of(old)) == ""


@pytest.mark.parametrize(("thickness_mm", "mass", "two"), [(27, "9 kg", False), (100, "32 kg", True)])
def test_the_lifting_caution_tells_the_heaviest_board_and_from_when_two_lift(thickness_mm, mass, two):
    load = load_of(planned(thickness_mm=thickness_mm, ASH=8), [Item("ASH")], {"ASH": 700.0})
    text = said("components/caution.html", load, about="lifting", heaviest=load.heaviest)
    assert f"The heaviest board here weighs about {mass}:" in text
    assert ("<b>from 25 kg on two people lift.</b>" in text) == two
    assert ("two people lift from 25 kg on." in text) != two
    assert ("Two people lift what weighs 25 kg or more." in said("kilnruns/_load_mass.html", load)) == two


def test_the_forklift_caution_tells_the_heaviest_pack():
    layout = packs_stood({"ASH": (4000, 1200, 500)}, Space(6000, 2500, 2700, sticker_mm=80))
    load = load_of(layout, [Item("ASH")], {"ASH": 700.0})
    text = said("components/caution.html", load, about="forklift", heaviest=load.heaviest)
    assert "The heaviest pack here weighs about 700 kg: the lift must bear it" in text


@pytest.mark.django_db
def test_sheet_and_loading_page_tell_rule_and_mass(signed_in):
    charge = charge_of(ready_stack(), ready_stack())
    for page in ("sheet", "loading"):
        text = words(signed_in.get(f"/charges/{charge.pk}/{page}/"))
        assert "Bottom layers first, in each the far end first; what goes in together, by place." in text
        assert "All together about" in text
        assert "Heaviest board about" in text


@pytest.mark.django_db
def test_the_part_that_phones_keep_names_no_reader_and_holds_no_token(signed_in, user):
    charge = charge_of(ready_stack())
    whole = signed_in.get(f"/charges/{charge.pk}/drawing/")
    part = signed_in.get(f"/charges/{charge.pk}/drawing/?part=1")
    assert user.username in whole.content.decode()
    assert user.username not in part.content.decode()
    assert "csrf" not in part.content.decode()
    assert "<html" not in part.content.decode() and 'id="layers" open' in part.content.decode()
    assert "no-store" in part["Cache-Control"]


@pytest.mark.django_db
@pytest.mark.parametrize("query", ["", "?part=1"])
def test_no_drawing_for_strangers(client, query):
    response = client.get(f"/charges/{charge_of(ready_stack()).pk}/drawing/{query}")
    assert response.status_code == 302
    assert "/sign-in/" in response["Location"]


@pytest.mark.django_db
@pytest.mark.parametrize("page", ["sheet", "loading", "drawing"])
def test_a_stack_whose_tag_was_replaced_is_still_brought_and_weighed(signed_in, user, page):
    stack = ready_stack()
    charge = charge_of(stack, ready_stack())
    before = words(signed_in.get(f"/charges/{charge.pk}/{page}/"))
    new = replace(stack=stack, by=user, at="2026-01-01T10:00Z")
    after = words(signed_in.get(f"/charges/{charge.pk}/{page}/"))
    assert shown(new.code).replace("\u202f", " ") in after
    assert "Heaviest board about" in before
    assert "Heaviest board about" in after


def fits(layout, room):
    """Whether a pack of that size stands in this room of the load without touching another, by the plan's geometry."""
    space, tiers = layout["space"], [row["tier"] for row in layout["placed"]]
    if room.where == "top":
        z = max(row["z_mm"] + row["height_mm"] for row in layout["placed"]) + space["sticker_mm"]
        x = y = 0.0
    else:
        here = [row for row in layout["placed"] if row["tier"] == room.tier - 1]
        z = min(row["z_mm"] for row in here)
        lane = [row for row in here if row["row"] == room.row - 1]
        x = max(row["x_mm"] + row["length_mm"] for row in lane) if room.where == "end" else 0.0
        y = lane[0]["y_mm"] if room.where == "end" else max(row["y_mm"] + row["width_mm"] for row in here)
    assert x + room.length_mm <= space["length_mm"] and y + room.width_mm <= space["width_mm"]
    assert z + room.height_mm <= space["height_mm"]
    return tiers and not any(
        x < row["x_mm"] + row["length_mm"]
        and row["x_mm"] < x + room.length_mm
        and y < row["y_mm"] + row["width_mm"]
        and row["y_mm"] < y + room.width_mm
        and z < row["z_mm"] + row["height_mm"]
        and row["z_mm"] < z + room.height_mm
        for row in layout["placed"]
    )


CHAMBER = Space(6200, 2500, 2600, sticker_mm=100)


@pytest.mark.parametrize(
    ("sizes", "wheres"),
    [
        ({"ASH": (4000, 1200, 1000)}, {"beside", "end", "top"}),
        ({"ASH": (6200, 1200, 1000), "OAK": (6200, 1200, 1000)}, {"top"}),
        ({"ASH": (6200, 1250, 2400), "OAK": (6200, 1250, 2400)}, set()),
        ({"ASH": (6000, 1200, 1100), "OAK": (6000, 1200, 1100), "ELM": (4000, 1200, 1100)}, {"end"}),
        ({"ASH": (3000, 1200, 1100), "OAK": (3000, 1200, 800), "ELM": (3000, 1200, 1000)}, None),
    ],
)
def test_what_pack_would_still_fit_is_told_and_does_fit(sizes, wheres):
    layout = packs_stood(sizes, CHAMBER)
    assert len(layout["placed"]) == len(sizes)
    rooms = load_of(layout).rooms
    assert all(fits(layout, room) for room in rooms)
    if wheres is not None:
        assert wheres <= {room.where for room in rooms}
        assert bool(wheres) == bool(rooms)


def test_the_largest_room_for_a_pack_is_told_first_with_its_size():
    load = load_of(packs_stood({"ASH": (4000, 1200, 1000)}, CHAMBER))
    text = said("kilnruns/_load_rooms.html", load)
    assert "Tier 1, beside the packs: a pack up to 6.20 m long, 1.30 m wide, 2.50 m high" in text
    assert "Tier 1, behind row 1: a pack up to 2.20 m long, 1.20 m wide, 2.50 m high" in text
    assert "On top: a pack up to 4.00 m long, 1.20 m wide, 1.40 m high" in text
    full = load_of(packs_stood({"ASH": (6200, 1250, 2400), "OAK": (6200, 1250, 2400)}, CHAMBER))
    assert "No room for another pack" in said("kilnruns/_load_rooms.html", full)
    assert said("kilnruns/_load_rooms.html", load_of(planned(ASH=24))) == ""
