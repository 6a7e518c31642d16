"""The tally: volumes by arithmetic, layers against cases counted by hand and against bounds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import tally
from drying.tally import Line

BOARDS = st.lists(
    st.builds(Line, st.integers(800, 4200), st.sampled_from([100, 150, 175, 225]), st.integers(1, 60)),
    min_size=1,
    max_size=8,
)


def test_volume_and_board_feet():
    """40 boards of 4 m x 150 x 25 mm are 0.6 m3; 1 m3 is 423.776 board feet (reference volume_units)."""
    assert tally.volume_m3([Line(4000, 150, 40)], 25) == pytest.approx(0.6)
    assert tally.board_feet(1) == pytest.approx(423.776, abs=5e-4)
    # a board foot as the trade tallies it: T in x W in x L ft / 12, 1 x 6 x 8 ft is 4
    assert tally.board_feet(tally.volume_m3([Line(10_000, 127, 12)], 25.4)) == pytest.approx(
        12 * 1 * 5 * (10_000 / 304.8) / 12
    )


@given(BOARDS, st.floats(10, 100))
def test_volume_is_that_of_the_boards_one_by_one(lines, thickness_mm):
    one_by_one = [Line(line.length_mm, line.width_mm, 1) for line in lines for _ in range(line.count)]
    assert tally.volume_m3(lines, thickness_mm) == pytest.approx(tally.volume_m3(one_by_one, thickness_mm))


def test_share_of_wood_in_a_stack():
    """25 mm boards on 25 mm stickers: about 0.45 to 0.50 (reference volume_units)."""
    assert tally.wood_share(25, 25) == 0.5
    assert 0.45 <= tally.wood_share(25, 25, 150, 15) <= 0.5


@pytest.mark.parametrize(
    ("lines", "width_mm", "length_mm", "lanes", "layers"),
    [  # counted by hand
        ([Line(4000, 150, 40)], 1200, 4000, 40, 5),  # 8 lanes a layer
        ([Line(4000, 150, 41)], 1200, 4000, 41, 6),
        ([Line(2000, 150, 40)], 1200, 4000, 20, 3),  # two end to end; 8 + 8 + 4 lanes
        ([Line(3000, 200, 4), Line(1000, 200, 4)], 800, 4000, 4, 1),  # a short board fills each lane
        ([Line(1500, 100, 5)], 300, 4000, 3, 1),
        ([Line(4000, 700, 2), Line(4000, 300, 2)], 1000, 4000, 4, 2),  # a narrow lane beside each wide one
    ],
)
def test_layers_counted_by_hand(lines, width_mm, length_mm, lanes, layers):
    estimate = tally.estimate_layers(lines, width_mm, length_mm)
    assert (estimate.lanes, estimate.layers) == (lanes, layers)
    assert estimate.note_code == "estimate_first_fit"
    assert tally.layer_count(lines, width_mm, length_mm) == layers


@given(BOARDS)
def test_layers_lie_between_bounds(lines):
    count = sum(line.count for line in lines)
    estimate = tally.estimate_layers(lines, 1200, 4200)
    area = sum(line.length_mm * line.width_mm * line.count for line in lines)
    assert estimate.layers * 1200 * 4200 >= area
    assert estimate.layers <= estimate.lanes <= count
    assert estimate == tally.estimate_layers(list(reversed(lines)), 1200, 4200)


def _first_fit_one_by_one(sizes: list[int], capacity: int) -> int:
    rooms: list[int] = []
    for size in sorted(sizes, reverse=True):
        fitting = [i for i, room in enumerate(rooms) if room >= size]
        if fitting:
            tightest = min(fitting, key=lambda i: rooms[i])
            rooms[tightest] -= size
        else:
            rooms.append(capacity - size)
    return len(rooms)


@given(st.lists(st.integers(300, 4200), min_size=1, max_size=60))
def test_lanes_are_no_worse_than_a_plain_best_fit_by_a_tenth(lengths):
    lines = [Line(length, 150, 1) for length in lengths]
    plain = _first_fit_one_by_one(lengths, 4200)
    assert tally.estimate_layers(lines, 1200, 4200).lanes <= plain * 1.1 + 1


def test_rough_tally_about_40_boards():
    """ "about 40 boards, 2.5 to 4.1 m, 150 mm mean" """
    lines = tally.spread_lines(40, 2500, 4100, 150)
    assert [line.length_mm for line in lines] == [2500, 2900, 3300, 3700, 4100]
    assert {line.width_mm for line in lines} == {150}
    assert sum(line.count for line in lines) == 40


@given(st.integers(1, 500), st.integers(500, 3000), st.integers(0, 3000))
def test_rough_tally_keeps_count_and_mean(count, shortest, extra):
    lines = tally.spread_lines(count, shortest, shortest + extra, 150)
    assert sum(line.count for line in lines) == count
    mean = sum(line.length_mm * line.count for line in lines) / count
    assert mean == pytest.approx(shortest + extra / 2, abs=1)
    assert all(shortest <= line.length_mm <= shortest + extra for line in lines)


def test_random_widths_as_typed():
    assert tally.parse_widths("150 160 2x175") == ((150, 1), (160, 1), (175, 2))
    assert tally.parse_widths(" 150,160;\n2×175  3X90 ") == ((150, 1), (160, 1), (175, 2), (90, 3))


@given(st.lists(st.tuples(st.integers(10, 1500), st.integers(1, 99)), min_size=1))
def test_random_widths_round_trip(pairs):
    assert tally.parse_widths(" ".join(f"{count}x{width}" for width, count in pairs)) == tuple(pairs)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Line(0, 150, 1), "board length 0 mm is outside 1 to 20000 mm"),
        (lambda: Line(4000, 1501, 1), "board width 1501 mm is outside 1 to 1500 mm"),
        (lambda: Line(4000, 150, 0), "number of boards 0 is outside 1 to 100000"),
        (lambda: tally.volume_m3([Line(1, 1, 1)], 0), "thickness 0 mm is outside 1 to 500 mm"),
        (lambda: tally.layer_count([Line(5000, 150, 1)], 1200, 4000), "board length 5000 mm is outside 1 to 4000 mm"),
        (lambda: tally.layer_count([Line(4000, 150, 1)], 100, 4000), "board width 150 mm is outside 1 to 100 mm"),
        (lambda: tally.spread_lines(10, 4000, 2000, 150), "shortest board 4000 mm is longer than the longest, 2000 mm"),
        (lambda: tally.spread_lines(0, 2000, 4000, 150), "number of boards 0 is outside"),
        (lambda: tally.parse_widths("150 6in"), "'6in' is not a width: write widths in whole mm, like 150 160 2x175"),
        (lambda: tally.parse_widths(""), "'' is not a width"),
        (lambda: tally.parse_widths("5"), "width 5 mm is outside 10 to 1500 mm"),
        (lambda: tally.parse_widths("0x150"), "number of boards 0 is outside"),
        (lambda: tally.wood_share(0, 25), "thickness 0 mm is outside 1 to 500 mm"),
    ],
)
def test_bad_tallies_are_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
