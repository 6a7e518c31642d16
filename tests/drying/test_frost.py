"""Frozen wood stands still: the figures that the docstrings give, and that thawing brings the old rates back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import diffusion, frost

OAK = diffusion.Wood(560, 1, 0.41, 0.45)
SPRUCE = diffusion.Wood(380, 5, 0.35, 0.45, "softwood")


def month(wood, temperature_c, green=0.8):
    """Points lost in 30 days at 80 % humidity, and the core's moisture after them."""
    boards = diffusion.Boards.of(wood, 27.0)
    state = diffusion.start(boards, np.asarray(green))
    for _ in range(30):
        state = diffusion.step(state, boards, diffusion.Air.of(temperature_c, 80.0), 86400)
    return 100 * (green - float(state.average)), 100 * float(state.profile[0])


@pytest.mark.parametrize(("temperature_c", "points"), [(15, 38), (0, 22), (-5, 12), (-10, 6), (-20, 3)])
def test_what_a_green_oak_board_loses_in_a_frozen_month(temperature_c, points):
    """The figures of `thawed`: the model's own, kept here so that the docstring stays true."""
    assert month(OAK, temperature_c)[0] == pytest.approx(points, abs=0.6)


@pytest.mark.parametrize("wood", [OAK, SPRUCE])
def test_a_frozen_core_keeps_its_water(wood):
    assert month(wood, -12)[1] > 79
    assert month(wood, -12)[0] < month(wood, 12)[0] / 4


@given(st.floats(-20, 15), st.floats(0.5, 5))
def test_colder_is_never_faster(temperature_c, warmer):
    pace, melted = frost.thawed([temperature_c, temperature_c + warmer])
    assert pace[0] <= pace[1]
    assert melted[0] <= melted[1]


def test_above_freezing_nothing_is_taken_off():
    pace, melted = frost.thawed(np.linspace(0, 100, 21))
    assert (pace == 1).all()
    assert (melted == 1).all()


def test_frozen_wood_is_named():
    assert frost.frozen([-1, -1, 1, -25], [0.8, 0.2, 0.8, 0.35]).tolist() == [True, False, False, True]


def test_weather_colder_than_the_tables_counts_as_their_coldest():
    colder, coldest = diffusion.Air.of(-35.0, 80.0), diffusion.Air.of(-20.0, 80.0)
    assert colder.equilibrium == coldest.equilibrium
    assert colder.pace == coldest.pace
    with pytest.raises(ValueError, match="air temperature -80 °C is outside -60 to 100 °C"):
        diffusion.Air.of(-80.0, 80.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: frost.thawed(np.nan), "temperature nan °C is outside -60 to 100 °C"),
        (lambda: frost.frozen(-5, 80), r"moisture \(fraction\) 80 is outside 0 to 4"),
        (lambda: diffusion.start(diffusion.Boards.of(OAK, 27), 80), r"moisture \(fraction\) 80"),
        (lambda: diffusion.Boards.of(OAK, 0), "thickness 0 mm is outside 5 to 200 mm"),
        (lambda: diffusion.Wood(0.56, 1, 0.4, 0.4), "basic density of the wood 0.56 kg/m³"),
        (lambda: diffusion.Wood(560, 1, np.nan, 0.4), "rate of the wood nan"),
        (lambda: diffusion.Wood(560, 1, 1, 0.4, "steel"), "wood class 'steel'"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
