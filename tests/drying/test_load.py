"""A load of boards or packs: known optima, the facts of the trade, and the rules of stacking checked on the drawing."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.load import Board, Pack, Space, StackWood, lay_out, lay_out_packs
from drying.packing.bars import attainable_m3
from tests.bench.charges import charge, cut_layers
from tests.drying.stacked import faults


@pytest.mark.parametrize(("number", "length_mm"), [(4, 6000), (8, 6000), (12, 7200)])
def test_layers_cut_from_full_ones_are_found_again(number, length_mm):
    space = Space(length_mm, 1500, number * 52, 25)
    boards = cut_layers(number, space, 27, seed=number)
    layout = lay_out(boards, space)
    assert faults(boards, layout) == []
    assert not layout.unplaced
    assert len(layout.layers) == layout.layers_bound == number
    assert layout.of_attainable == 1.0
    assert layout.area_fill == pytest.approx(1.0)
    assert layout.volume_m3 == pytest.approx(layout.attainable_m3)


@pytest.mark.parametrize(("length_mm", "in_a_lane"), [(2600, 2), (2400, 3), (6300, 1)])
def test_boards_of_some_two_and_a_half_metres_go_two_or_three_end_to_end(length_mm, in_a_lane):
    # A chamber of a little over 7 m: common practice, no source.
    layout = lay_out([Board("A", length_mm, 150, 27)] * (in_a_lane * 4), Space(7250, 600, 52, 25))
    lanes = [[one for one in layout.placed if one.lane == lane] for lane in range(layout.layers[0].lanes)]
    assert [len(lane) for lane in lanes] == [in_a_lane] * 4
    assert not layout.unplaced


def test_a_board_longer_than_the_door_takes_stays_out():
    layout = lay_out([Board("A", 6500, 150, 27), Board("A", 5900, 150, 27)], Space(7200, 600, 500, 25, 6000))
    assert [one.length_mm for one in layout.unplaced] == [6500]
    assert [one.length_mm for one in layout.placed] == [5900]


def test_thick_layers_lie_low_and_the_incomplete_layer_on_top():
    boards = [Board("thick", 3000, 100, 50)] * 40 + [Board("thin", 3000, 100, 40)] * 25
    layout = lay_out(boards, Space(6000, 1000, 1000, 25))
    assert faults(boards, layout) == []
    assert [layer.thickness_mm for layer in layout.layers] == [50, 50, 40, 40]
    assert [layer.complete for layer in layout.layers] == [True, True, True, False]


def test_layers_count_exactly_with_their_stickers():
    # 500 mm over 52 mm a layer: nine layers, not 9.6. Ten layers of stock, so one is left.
    layout = lay_out([Board("A", 6000, 100, 27)] * 100, Space(6000, 1000, 500, 25))
    assert len(layout.layers) == 9
    assert len(layout.unplaced) == 10
    assert layout.of_attainable == pytest.approx(1.0)


def test_open_strips_are_named_with_the_baffle_that_closes_them():
    layout = lay_out([Board("A", 6000, 100, 27)] * 18, Space(6000, 1000, 400, 25))
    assert [(one.where, one.width_mm, one.from_layer, one.to_layer) for one in layout.baffles] == [
        ("top", 400 - 2 * 52, 2, 2),
        ("side", 200, 1, 1),
    ]
    assert layout.layers[1].open_mm2 == pytest.approx(6000 * 200)


def test_end_joints_are_told_for_the_stickers_beneath():
    layout = lay_out([Board("A", 2500, 100, 27), Board("A", 3500, 100, 27)], Space(6000, 100, 100, 25))
    assert layout.layers[0].joints_mm == (3500.0,)


def test_lengths_that_do_not_combine_bound_what_is_attainable():
    # 3.4 m boards leave 2.6 m of each 6 m lane: no more than 3.4 / 6 of a full layer can be reached.
    boards = [Board("A", 3400, 100, 27)] * 200
    space = Space(6000, 1000, 520, 25)
    assert attainable_m3(boards, space) == pytest.approx(10 * 10 * 3.4 * 0.1 * 0.027)
    assert lay_out(boards, space).of_attainable == pytest.approx(1.0)
    # With 2.6 m boards beside them the lanes are full.
    assert attainable_m3([*boards, *[Board("B", 2600, 100, 27)] * 200], space) == pytest.approx(10 * 6 * 1 * 0.027)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from([1800, 2500, 3050, 4100, 6300]),
            st.sampled_from([95, 120, 150, 210]),
            st.sampled_from([27, 32]),
        ),
        min_size=1,
        max_size=60,
    ),
    st.sampled_from([180, 400, 900]),
)
def test_any_boards_are_stacked_by_the_rules_and_below_the_bound(sizes, height_mm):
    boards = [Board("A", *size) for size in sizes]
    layout = lay_out(boards, Space(6400, 600, height_mm, 22))
    assert faults(boards, layout) == []
    assert 0 < layout.of_attainable <= 1


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(900, 6400), st.integers(80, 420), st.sampled_from([26, 27, 40])), min_size=1, max_size=40
    ),
    st.sampled_from([300, 700]),
    st.booleans(),
)
def test_boards_each_of_its_own_width_and_length_are_stacked_by_the_rules(sizes, height_mm, exact):
    boards = [Board("AB"[index % 2], *size) for index, size in enumerate(sizes)]
    woods = {"A": StackWood(520, 18), "B": StackWood(760, 23)}
    layout = lay_out(boards, Space(6400, 900, height_mm, 25, 6300), exact=exact, woods=woods)
    assert faults(boards, layout) == []
    assert layout.mass_kg == pytest.approx(
        sum(
            one.length_mm * one.width_mm * one.thickness_mm * 1e-9 * woods[one.stack].kg_per_m3 for one in layout.placed
        )
    )


@pytest.mark.parametrize("seed", [200, 201, 202, 203])
def test_whole_charges_are_stacked_by_the_rules(seed):
    boards, space = charge(seed)
    assert faults(boards, lay_out(boards, space)) == []


def test_the_heavier_of_two_thicknesses_lies_low_even_if_it_is_the_thinner():
    boards = [Board("oak", 6000, 100, 32)] * 20 + [Board("alder", 6000, 100, 40)] * 20
    woods = {"oak": StackWood(800, 20), "alder": StackWood(500, 20)}
    layout = lay_out(boards, Space(6000, 1000, 600, 25), woods=woods)
    assert [layer.thickness_mm for layer in layout.layers] == [32, 32, 40, 40]
    assert [layer.mass_kg for layer in layout.layers] == pytest.approx([153.6, 153.6, 120.0, 120.0])
    assert layout.mass_kg == pytest.approx(547.2)
    assert [layer.thickness_mm for layer in lay_out(boards, Space(6000, 1000, 600, 25)).layers] == [40, 40, 32, 32]


def test_of_one_thickness_the_wetter_stack_lies_lower():
    boards = [Board("dry", 6000, 100, 27)] * 20 + [Board("wet", 6000, 100, 27)] * 20
    woods = {"dry": StackWood(500, 12), "wet": StackWood(530, 20)}
    layout = lay_out(boards, Space(6000, 1000, 600, 25), woods=woods)
    stacks = [{one.stack for one in layout.placed if one.layer == layer.index} for layer in layout.layers]
    assert stacks == [{"wet"}, {"wet"}, {"dry"}, {"dry"}]


def test_a_mass_that_is_not_known_is_not_told():
    layout = lay_out([Board("A", 6000, 100, 27)] * 5, Space(6000, 1000, 600, 25))
    assert layout.mass_kg is None
    assert layout.layers[0].mass_kg is None


def test_a_mass_that_no_wood_has_is_refused_by_its_name():
    with pytest.raises(ValueError, match="mass of a stack"):
        StackWood(5000, 20)


def test_lanes_that_all_end_short_are_closed_off_by_a_baffle_at_the_far_end():
    layout = lay_out([Board("A", 5200, 100, 27)] * 20, Space(7000, 1000, 104, 25))
    assert [(one.where, one.width_mm) for one in layout.baffles] == [("end", 1800)]
    assert {one.x_mm for one in layout.placed} == {0.0}
    assert layout.layers[0].joints_mm == ()


def test_the_lengths_that_would_fill_the_lanes_are_told():
    # 5.2 m of 7 m: each of 20 lanes of 0.1 m leaves 1.8 m, which a board of 1.4 to 1.8 m fills.
    layout = lay_out([Board("A", 5200, 100, 27)] * 20, Space(7000, 1000, 104, 25))
    (rest,) = layout.rests
    assert (rest.rest_mm, rest.from_mm, rest.to_mm, rest.lanes, rest.a_lane) == (1800, 1400, 1800, 20, 1)
    assert rest.volume_m3 == pytest.approx(20 * 1.8 * 0.1 * 0.027)


def test_a_long_rest_is_told_in_lengths_that_use_most_of_it():
    # 2.9 m of 7 m left by 4.1 m boards, 0.6 m by two of 3.2 m; what fills the long rests is told first.
    boards = [Board("A", 4100, 100, 27)] * 6 + [Board("B", 3200, 100, 27)] * 8
    rests = lay_out(boards, Space(7000, 1000, 52, 25)).rests
    assert [(one.to_mm, one.lanes) for one in rests] == [(2900, 6), (600, 4)]


def test_full_lanes_leave_no_rest():
    assert lay_out([Board("A", 3500, 100, 27)] * 20, Space(7000, 1000, 52, 25)).rests == ()


def test_sample_boards_lie_at_the_door_on_both_sides_in_reach_and_of_the_wettest():
    boards = [Board("dry", 3500, 100, 27)] * 260 + [Board("wet", 3500, 100, 27)] * 200
    woods = {"dry": StackWood(500, 12), "wet": StackWood(530, 20)}
    layout = lay_out(boards, Space(7000, 1000, 1800, 25), woods=woods)
    assert [one.side for one in layout.samples] == ["enters", "enters", "leaves", "leaves"]
    assert {one.x_mm for one in layout.samples} == {0.0}
    assert {one.y_mm for one in layout.samples} == {0.0, 900.0}
    assert all(one.z_mm <= 1800 for one in layout.samples)
    for side in ("enters", "leaves"):
        assert {one.stack for one in layout.samples if one.side == side} == {"dry", "wet"}
    places = {(one.layer, one.lane, one.x_mm, one.stack) for one in layout.placed}
    assert {(one.layer, one.lane, one.x_mm, one.stack) for one in layout.samples} <= places


def test_a_unit_serves_no_more_than_its_air_volume_and_no_wider_than_it_blows():
    space = Space(8000, 2000, 1500, 25, 7000)
    assert space.served_by() == space
    assert space.served_by(blow_length_mm=1600).width_mm == 1600
    small = space.served_by(largest_air_m3=18.0, blow_length_mm=1600)
    assert small.length_mm * small.width_mm * small.height_mm <= 18e9
    assert small.length_mm == 7500
    with pytest.raises(ValueError, match="blow_length_mm is 0"):
        space.served_by(blow_length_mm=0)


def test_the_same_boards_in_another_order_are_laid_out_alike():
    space = Space(6000, 900, 260, 25)
    boards = cut_layers(5, space, 27, seed=3)
    assert lay_out(boards, space).placed == lay_out(sorted(boards, key=lambda one: one.length_mm), space).placed


def test_a_space_without_height_is_refused_by_its_name():
    with pytest.raises(ValueError, match="height_mm is 0"):
        Space(6000, 1000, 0)


def assert_packs_stand(layout):
    for a, b in combinations(layout.placed, 2):
        assert (
            (a.x_mm + a.length_mm <= b.x_mm or b.x_mm + b.length_mm <= a.x_mm)
            or (a.y_mm + a.width_mm <= b.y_mm or b.y_mm + b.width_mm <= a.y_mm)
            or (a.z_mm + a.height_mm <= b.z_mm or b.z_mm + b.height_mm <= a.z_mm)
        )
    space = layout.space
    assert all(one.x_mm + one.length_mm <= space.length_mm for one in layout.placed)
    assert all(one.y_mm + one.width_mm <= space.width_mm for one in layout.placed)
    assert all(one.z_mm + one.height_mm <= space.height_mm for one in layout.placed)


def test_packs_fill_rows_and_tiers_exactly():
    # Two along, two across, two up: eight packs and their bolsters are the whole space.
    layout = lay_out_packs([Pack(f"T{n}", 3000, 1200, 900) for n in range(8)], Space(6000, 2400, 2000, 100))
    assert_packs_stand(layout)
    assert not layout.unplaced
    assert layout.tiers == 2
    assert layout.attainable == pytest.approx(layout.chamber_fill) == pytest.approx(0.9)
    assert {one.supported for one in layout.placed} == {1.0}
    assert layout.of_attainable == 1.0


def test_a_ninth_pack_and_one_too_high_stay_out():
    packs = [Pack(f"T{n}", 3000, 1200, 900) for n in range(9)] + [Pack("high", 3000, 1200, 1950)]
    layout = lay_out_packs(packs, Space(6000, 2400, 2000, 100))
    assert len(layout.placed) == 8
    assert sorted(one.stack for one in layout.unplaced) == ["T8", "high"]


def test_a_pack_that_overhangs_says_how_much_of_it_is_supported():
    # The wider base lies below, 3 m long; of the 3.4 m above, 0.4 m hangs over.
    layout = lay_out_packs([Pack("a", 3000, 1200, 900), Pack("b", 3400, 1000, 900)], Space(4000, 1200, 2000, 100))
    assert_packs_stand(layout)
    assert {one.stack: one.tier for one in layout.placed} == {"a": 0, "b": 1}
    assert {one.stack: one.supported for one in layout.placed} == {"a": 1.0, "b": pytest.approx(3000 / 3400)}


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from([2500, 3100, 4100]), st.sampled_from([900, 1000, 1200]), st.sampled_from([600, 900, 1150])
        ),
        min_size=1,
        max_size=14,
    )
)
def test_any_packs_stand_apart_and_below_the_bound(sizes):
    layout = lay_out_packs([Pack(f"T{n}", *size) for n, size in enumerate(sizes)], Space(6300, 2300, 2400, 100))
    assert_packs_stand(layout)
    assert len(layout.placed) + len(layout.unplaced) == len(sizes)
    assert layout.chamber_fill <= layout.attainable + 1e-9
