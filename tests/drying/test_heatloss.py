"""A kiln's walls and leaks from its runs: known ones recovered, one balance by hand, refusals."""

from dataclasses import replace

import numpy as np
import pytest

from drying import heatloss, schedules
from drying.diffusion import Wood
from drying.heat import Chamber, Parcel, kiln_run
from drying.heatloss import RunHeat, Shut, WallsFound

WOOD, VOLUME_M3, START_PCT = Wood(560, 1, 0.41, 0.45), 2.5, 25.0
STEAM_LATENT_KJ_KG = 2382.0  # at 50 °C: steam tables (IAPWS), from memory


def a_run(wall_u, *, every=1, humidifies=False):
    """A run as the model's own balance computes it, with its records thinned to one in `every` steps."""
    chamber = Chamber(5.3, 1.8, 1.7, 6, 60, wall_u_w_m2k=wall_u, humidifies=humidifies)
    schedule = schedules.for_wood("medium_hardwood", None, 27, 60, target_pct=8, humidifies=humidifies)
    run = kiln_run(chamber, [Parcel(WOOD, 27, VOLUME_M3, START_PCT)], schedule, 8, 8, 78)
    kept = np.unique(np.concatenate([[0, 2], np.arange(0, len(run.hours) + 1, every), [len(run.hours)]]))

    def series(first, values):
        return np.concatenate([[first], values])[kept]

    return RunHeat(
        key="model",
        hours=series(0, run.hours),
        temperature_c=series(8, run.temperature_c),
        humidity_pct=series(run.humidity_pct[0], run.humidity_pct),
        moisture_pct=series(START_PCT, run.moisture_pct[0]),
        electricity_kwh=run.heater_kwh + run.fan_kwh,
        dry_kg=VOLUME_M3 * 560,
        wall_m2=chamber.wall_w_k / wall_u,
        outdoor_temperature_c=8,
        outdoor_humidity_pct=78,
        moistened_leak_kg_h=leak_kg_h(chamber) if humidifies else 0.0,
    )


def leak_kg_h(chamber):
    """Free air x changes an hour x its density outdoors (ideal gas, 287.05 J/kg K)."""
    free = chamber.volume_m3 - VOLUME_M3
    return chamber.leak_per_h * free * 101_325 / (287.05 * (8 + 273.15))


@pytest.mark.parametrize("wall_u", [0.3, 0.6, 1.2])
def test_the_walls_of_the_models_own_runs_are_found_again(wall_u):
    found = heatloss.walls(a_run(wall_u))
    assert found.u_w_m2k == pytest.approx(wall_u, rel=0.01)
    assert found.sd_w_m2k < 0.2 * wall_u


def test_a_note_a_day_is_enough():
    found = heatloss.walls(a_run(0.6, every=12))
    assert found.u_w_m2k == pytest.approx(0.6, rel=0.01)


@pytest.mark.parametrize("wall_u", [0.3, 0.6, 1.2])
def test_water_sprayed_in_is_reckoned_from_the_air_that_was_held(wall_u):
    """Left out, it looks like heat through the walls."""
    run = a_run(wall_u, humidifies=True)
    found = heatloss.walls(run)
    assert found.u_w_m2k == pytest.approx(wall_u, rel=0.01)
    assert found.terms.humidifying > 0
    unknown = heatloss.walls(replace(run, moistened_leak_kg_h=0.0))
    assert unknown.u_w_m2k > 1.015 * wall_u


def test_a_steady_day_is_balanced_by_hand():
    """50 °C and 50 % inside, 10 °C and 80 % outside, 24 h, 1000 kg oven-dry from 40 to 38 %: 20 kg of water.

    By hand: evaporation 20 x 2382 kJ = 13.2 kWh (steam tables, from memory). Humidity ratios from psychrometric tables
    (from memory): inside .0402, outside .0061 kg/kg, so 20/.0341 = 587 kg of air, x 1.02 kJ/(kg K) x 40 K = 6.65 kWh.
    Walls: 0.5 W/m2K x 40 m2 x 40 K x 24 h = 19.2 kWh. At 38 % nothing is bound: sorption is for the wood's own test.
    """
    steady = {"temperature_c": np.array([50.0, 50.0]), "humidity_pct": np.array([50.0, 50.0])}
    outside = {"outdoor_temperature_c": 10.0, "outdoor_humidity_pct": 80.0}
    day = RunHeat("day", np.array([0.0, 24]), moisture_pct=np.array([40.0, 38]), electricity_kwh=60, dry_kg=1000,
                  wall_m2=40, **steady, **outside)  # fmt: skip
    terms = heatloss.terms(day)
    assert terms.evaporation == pytest.approx(20 * STEAM_LATENT_KJ_KG / 3600, rel=0.01)
    assert terms.vents == pytest.approx(6.65, rel=0.04)
    assert terms.warming == 0
    assert terms.sorption < 0.01 * terms.evaporation
    assert terms.degree_hours == 40 * 24
    walls_kwh = 0.5 * 40 * 40 * 24 / 1000
    used = terms.evaporation + terms.sorption + terms.vents + walls_kwh
    assert heatloss.walls(replace(day, electricity_kwh=used)).u_w_m2k == pytest.approx(0.5)


def test_more_power_for_the_same_wood_is_a_worse_wall():
    run = a_run(0.6)
    assert heatloss.walls(replace(run, electricity_kwh=1.2 * run.electricity_kwh)).u_w_m2k > 0.7


def test_a_schedules_humidity_is_trusted_less_than_one_noted():
    run = a_run(0.6)
    assert heatloss.walls(replace(run, humidity_known=False)).sd_w_m2k > heatloss.walls(run).sd_w_m2k


def walls_of(key, u, sd):
    return WallsFound(key, u, sd, heatloss.terms(a_run(0.6, every=40)))


def test_runs_are_pooled_the_surer_ones_first_and_those_that_cannot_be_are_named():
    found = heatloss.pooled_walls([walls_of("a", 0.6, 0.03), walls_of("b", 1.0, 0.5), walls_of("c", -0.2, 0.1)])
    assert 0.6 < found.value < 0.65
    assert found.band[0] < found.value < found.band[1]
    assert (found.runs, found.left_out) == (2, ("c",))
    assert heatloss.pooled_walls([walls_of("c", -0.2, 0.1)]) is None


def test_more_runs_are_surer():
    one, four = (heatloss.pooled_walls([walls_of("a", 0.6, 0.06)] * count) for count in (1, 4))
    assert four.band[1] - four.band[0] == pytest.approx((one.band[1] - one.band[0]) / 2)


SHUT = Shut(10, 4.0, 40, 60, 10, 80, 8.0)


def test_a_leak_is_the_water_over_what_each_change_carries_off():
    """By hand: ratios .0284 and .0061 kg/kg at 1013 hPa (psychrometric tables, from memory), 8 m3 of outdoor air weigh
    9.97 kg; 0.4 kg/h over .0223 are 17.9 kg/h, 1.80 changes an hour."""
    assert heatloss.air_changes_per_h(SHUT) == pytest.approx(1.80, rel=0.03)


def test_air_no_damper_than_outdoors_tells_of_no_leak():
    assert heatloss.air_changes_per_h(replace(SHUT, humidity_pct=8)) is None
    assert heatloss.pooled_leak([replace(SHUT, humidity_pct=8)]) is None


def test_the_leak_of_the_models_own_chamber_is_found_again():
    """A full chamber whose air is damper than called for: its leak alone carries the water off."""
    chamber = Chamber(5.3, 1.8, 1.7, 6, 60, leak_per_h=0.8)
    schedule = schedules.for_wood("medium_hardwood", None, 27, 60, target_pct=8)
    run = kiln_run(chamber, [Parcel(WOOD, 27, VOLUME_M3, START_PCT)], schedule, 8, 8, 78)
    free = max(chamber.volume_m3 - VOLUME_M3, 0.2 * chamber.volume_m3)
    stretches = [
        Shut(
            hours=float(run.hours[i] - run.hours[i - 1]),
            water_kg=float(run.moisture_pct[0, i - 1] - run.moisture_pct[0, i]) / 100 * VOLUME_M3 * 560,
            temperature_c=float(run.temperature_c[i]),
            humidity_pct=float(run.humidity_pct[i]),
            outdoor_temperature_c=8,
            outdoor_humidity_pct=78,
            free_m3=free,
        )
        for i in range(5, len(run.hours))
        if run.ruled[i] == "leak" and run.humidity_pct[i] < run.humidity_pct[i - 1] + 5
        if run.hours[i] - run.hours[i - 1] >= 0.5
    ]
    assert len(stretches) > 5
    found = heatloss.pooled_leak(stretches)
    assert found.value == pytest.approx(0.8, rel=0.05)
    assert found.band[0] < 0.8 < found.band[1]


def test_a_kiln_no_warmer_than_outdoors_says_so():
    cold = replace(a_run(0.6, every=40), temperature_c=np.full(len(a_run(0.6, every=40).hours), 8.0))
    with pytest.raises(ValueError, match="warmth of the kiln over outdoors 0 K h is outside 24"):
        heatloss.walls(cold)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("hours", np.array([0.0, 0.0]), "rising"),
        ("temperature_c", np.array([20.0, 400]), "kiln temperature 400 °C is outside"),
        ("humidity_pct", np.array([0.0, 50]), "kiln humidity 0 % is outside"),
        ("electricity_kwh", -1.0, "electricity -1 kWh is outside"),
        ("dry_kg", 0.0, "oven-dry mass 0 kg is outside"),
        ("wall_m2", float("nan"), "area of the walls nan"),
    ],
)
def test_what_no_run_is_is_refused(name, value, words):
    steady = RunHeat("x", np.array([0.0, 24]), np.array([50.0, 50]), np.array([50.0, 50]), np.array([40.0, 38]),
                     60, 1000, 40, 10, 80)  # fmt: skip
    with pytest.raises(ValueError, match=words):
        replace(steady, **{name: value})


def test_a_stretch_with_no_time_in_it_is_refused():
    with pytest.raises(ValueError, match="hours with vents shut 0 h is outside"):
        replace(SHUT, hours=0.0)
