"""Pins that stay in the wood, against James (FPL-GTR-6, 1988) as transcribed: table 1 (recalled) and figure 5."""

import numpy as np
import pytest

from drying import meters, woodprobes
from tests.drying.publications import published

WOODS = {
    "northern red oak": "northern_red_oak",
    "black walnut": "black_walnut",
    "Douglas-fir (coast)": None,
}


@pytest.mark.parametrize("name", WOODS)
def test_every_cell_of_the_table_that_pins_can_tell(name):
    """Table 1 is of 26.7 °C. Fitted curves stray from single cells by up to 0.6 % MC (the fit's own residual)."""
    rows = [row for row in published("meter_resistance_curve") if row["species"] == name]
    cells = np.array([(float(row["mc_percent"]), float(row["resistance_megohm"])) for row in rows])
    usable = cells[(cells[:, 0] >= 8) & (cells[:, 0] <= 22)]
    assert len(usable) >= 5
    found = woodprobes.resistance_moisture_pct(usable[:, 1], 26.7, WOODS[name])
    assert np.abs(found - usable[:, 0]).max() < 0.6


def test_warm_wood_is_drier_than_its_resistance_seems():
    """Figure 5's worked example: what a meter shows as 18 % is 14 % in wood of 120 °F (digitised curve 14.1)."""
    curve = meters.CURVES["Douglas-fir (coast)"]
    at_curve = 18 + float(meters.chart_correction_pct(18, curve.temperature_c))
    megohm = 10 ** curve.log_megohm(np.array(at_curve))
    assert woodprobes.resistance_moisture_pct(megohm, 21.1) == pytest.approx(18, abs=0.1)
    assert woodprobes.resistance_moisture_pct(megohm, 48.9) == pytest.approx(14.1, abs=0.1)
    assert woodprobes.resistance_moisture_pct(megohm, 70) == woodprobes.resistance_moisture_pct(megohm, 50)


def test_species_matter_and_one_without_a_curve_is_read_as_the_usual_one():
    assert "northern_red_oak" in woodprobes.CURVED
    assert "norway_spruce" not in woodprobes.CURVED
    spruce, usual, oak = (
        woodprobes.resistance_moisture_pct(100.0, 20.0, one) for one in ("norway_spruce", None, "northern_red_oak")
    )
    assert spruce == usual
    assert oak != usual


def test_where_pins_tell_nothing_nothing_is_told():
    assert np.isnan(woodprobes.resistance_moisture_pct([1e6, 0.002], 20.0)).all()


@pytest.mark.parametrize(
    ("given", "words"),
    [((0, 20), "resistance"), ((1, 200), "wood temperature"), ((1, 20, "teapot"), "species 'teapot'")],
)
def test_what_cannot_be_is_refused(given, words):
    with pytest.raises(ValueError, match=words):
        woodprobes.resistance_moisture_pct(*given)
