"""Kiln runs: water and energy to the last kWh, published kiln times, and the facts of the trade."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import psychrolib
import pytest

from drying import air, diffusion, heat, schedules, watch, wood
from drying.diffusion import Wood
from drying.kiln import kilncourse
from drying.schedules import Schedule, Step

SPRUCE = Wood(basic_density_kg_m3=380, permeability=5, rate=0.35, rate_log_sd=0.45, wood_class="softwood")
RED_OAK = Wood(basic_density_kg_m3=560, permeability=1, rate=0.41, rate_log_sd=0.45)
WHITE_OAK = Wood(basic_density_kg_m3=600, permeability=1, rate=0.32, rate_log_sd=0.45)
SMALL = heat.Chamber(length_m=7.2, width_m=1.8, height_m=1.6, heater_kw=6, max_temperature_c=60)
# The drying method's check chamber: 48 m2 of wall at 0.5 W/m2K.
CHECK = heat.Chamber(length_m=5, width_m=2, height_m=2, heater_kw=5, max_temperature_c=70)
# A conventional kiln that holds any published schedule.
CONVENTIONAL = heat.Chamber(8, 4, 4, 150, 90, vent_max_kg_s=2, fan_kw=10, humidifies=True)
OUTDOORS = (8.0, 75.0)


def held(dry_c, humidity, late_c, late_humidity):
    def step(start, temperature, percent):
        return Step(start, temperature, temperature - float(air.wet_bulb_c(temperature, percent)))

    return Schedule("held", (step(None, dry_c, humidity), step(30, late_c, late_humidity)), "made for the test", False)


WARM = held(50, 60, 55, 45)


def softwood(target_pct, thickness_mm=27):
    return schedules.for_wood("softwood", None, thickness_mm, 60, target_pct=target_pct)


def run(chamber=CHECK, parcels=None, schedule=WARM, target_pct=15, outdoors=OUTDOORS):
    return heat.kiln_run(chamber, parcels or [heat.Parcel(SPRUCE, 25, 3.5, 60)], schedule, target_pct, *outdoors)


def test_water_of_the_worked_example():
    """Worked example 14.1 (constructed): 4 m3 of spruce at 380 kg/m3 from 60 to 15 % give off 684 kg."""
    result = run(SMALL, [heat.Parcel(SPRUCE, 27, 4, 60)], softwood(15))
    assert result.water_kg == pytest.approx(684, rel=0.002)
    assert result.moisture_pct[0, -1] == pytest.approx(15, abs=0.01)


@pytest.mark.parametrize("chamber", [CHECK, SMALL, CONVENTIONAL, replace(CHECK, heater_kw=0.8)])
def test_every_kwh_is_accounted_for(chamber):
    result = run(chamber, [heat.Parcel(SPRUCE, 25, 3, 60), heat.Parcel(RED_OAK, 27, 1, 25)])
    assert result.heater_kwh + result.fan_kwh == pytest.approx(sum(result.energy_kwh.values()), rel=1e-9)


def test_energy_terms_agree_with_the_recorded_air_and_water():
    """Each term again from the run's own record, by its defining formula and not by the balance."""
    result = run()
    hours = np.diff(result.hours, prepend=0)
    walls = CHECK.wall_w_k * np.sum(hours * (result.temperature_c - OUTDOORS[0])) / 1000
    assert CHECK.wall_w_k == 24
    assert result.energy_kwh["walls"] == pytest.approx(walls, rel=1e-9)
    lost = -np.diff(result.moisture_pct[0], prepend=60) / 100 * 380 * 3.5
    latent = np.sum(lost * air.latent_heat_j_kg(result.temperature_c)) / 3.6e6
    assert result.energy_kwh["evaporation"] == pytest.approx(latent, rel=0.005)
    # Warming: the wood and its water at the mean of their states, plus 60 kJ/K of structure.
    moisture = np.array([60.0, *result.moisture_pct[0][:-1]])
    capacity = 380 * 3.5 * (1 + moisture / 100) * wood.heat_capacity_j_kg_k(30, moisture) + 60e3
    warming = np.sum(capacity * np.diff(result.temperature_c, prepend=OUTDOORS[0])) / 3.6e6
    assert result.energy_kwh["warming"] == pytest.approx(warming, rel=0.03)
    assert result.fan_kwh == pytest.approx(0.25 * result.hours[-1], rel=1e-9)


def test_vent_heat_is_psychrolibs_enthalpy_difference():
    """Heat per kg of water from psychrolib (ASHRAE): (h_in - h_out) / (w_in - w_out), less the liquid's own 4.19 T."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for inside, outside in (((50, 60), (5, 80)), ((60, 35), (20, 60)), ((40, 70), (-5, 85))):
        w = [psychrolib.GetHumRatioFromRelHum(t, h / 100, 101325) for t, h in (inside, outside)]
        h = [psychrolib.GetMoistAirEnthalpy(t, ratio) for (t, _), ratio in zip((inside, outside), w, strict=True)]
        per_kg = (h[0] - h[1]) / (w[0] - w[1]) - 4186 * inside[0]
        free_w = 5250 - 24 * (inside[0] - outside[0])
        assert heat.heater_kg_water_per_day(CHECK, *inside, *outside) == pytest.approx(
            free_w / per_kg * 86400, rel=0.01
        )


@pytest.mark.parametrize(("heater_kw", "days"), [(2, 19.6), (3, 11.1), (4, 7.9), (5, 6.4), (7, 5.0), (10, 4.1)])
def test_heater_rules_as_the_prototype_measured(heater_kw, days):
    """Drying method §8: 3.5 m3 of G .38, 25 mm, 60 to 15 %, theta .7, 5 °C outdoors. It had no spread among boards, and
    its humidities are not given, so 10 %."""
    fast = replace(SPRUCE, rate=0.7 / kilncourse.KILN_FACTOR["softwood"])
    result = run(replace(CHECK, heater_kw=heater_kw), [heat.Parcel(fast, 25, 3.5, 60)], outdoors=(5, 75))
    assert result.days == pytest.approx(days, rel=0.10)
    assert result.water_kg == pytest.approx(599, abs=1)


@pytest.mark.parametrize(("wall_u", "days"), [(0.3, 6.1), (0.5, 6.4), (1.0, 8.1), (2.0, 24)])
def test_walls_cost_days_as_the_prototype_measured(wall_u, days):
    fast = replace(SPRUCE, rate=0.7 / kilncourse.KILN_FACTOR["softwood"])
    result = run(replace(CHECK, wall_u_w_m2k=wall_u), [heat.Parcel(fast, 25, 3.5, 60)], outdoors=(5, 75))
    assert result.days == pytest.approx(days, rel=0.10)


def test_time_and_energy_lie_in_the_prototypes_range():
    """Drying method §8: 5.5 to 8.8 d, 676 to 895 kWh in all, at 50 to 55 °C, theta 1 to .35, outdoors 15 to 0 °C."""
    for theta, outdoors in ((1.0, 15), (0.5, 7), (0.35, 0)):
        pine = replace(SPRUCE, rate=theta / kilncourse.KILN_FACTOR["softwood"])
        result = run(parcels=[heat.Parcel(pine, 25, 3.5, 60)], outdoors=(outdoors, 75))
        assert 5.5 * 0.95 <= result.days <= 8.8 * 1.05
        assert 676 * 0.95 <= result.heater_kwh + result.fan_kwh <= 895 * 1.05


# Facts of the trade: common practice, no source.
@pytest.mark.parametrize("thickness_mm", [25, 27])
def test_softwood_goes_from_fresh_to_air_dry_in_about_a_week(thickness_mm):
    result = run(SMALL, [heat.Parcel(SPRUCE, thickness_mm, 4, 60)], softwood(8, thickness_mm), 15)
    assert 5 <= result.days <= 10
    assert result.temperature_c.max() <= 70


@pytest.mark.parametrize("thickness_mm", [25, 27])
@pytest.mark.parametrize("target_pct", [7.0, 7.5, 8.0])
def test_from_15_to_7_or_8_takes_about_two_weeks_more(thickness_mm, target_pct):
    result = run(SMALL, [heat.Parcel(SPRUCE, thickness_mm, 4, 15)], softwood(target_pct, thickness_mm), target_pct)
    assert 10 <= result.days <= 18
    assert result.temperature_c.max() <= 70


@pytest.mark.parametrize(
    ("start", "end", "temperature_c", "humidity", "days"), [(85, 25, 65.6, 50, 4.5), (80, 50, 43.3, 80, 4.07)]
)
def test_red_oak_time_constant(start, end, temperature_c, humidity, days):
    """Worked examples 5.2 (published, recalled: after Simpson & Tschernitz 1979) and 5.3 (constructed on it): 1 in red
    oak in a kiln with brisk air. Nothing was fitted to them."""
    rate = kilncourse.kiln_rate(RED_OAK, CONVENTIONAL)
    boards = diffusion.Boards.of(RED_OAK, 25.4, rate=rate, transfer_m_s=diffusion.KILN_TRANSFER_M_S)
    state, climate, hours = diffusion.start(boards, start / 100), diffusion.Air.of(temperature_c, humidity), 0.0
    while state.average > end / 100:
        state, hours = diffusion.step(state, boards, climate, 1800.0), hours + 0.5
    assert hours / 24 == pytest.approx(days, rel=0.10)


@pytest.mark.parametrize(
    ("oak", "code", "start", "days"), [(RED_OAK, "T4-D2", 75, 22.7), (WHITE_OAK, "T4-C2", 65, 29.0)]
)
def test_oaks_meet_wengerts_attainable_averages(oak, code, start, days):
    """Wengert column (read): 4/4 red oak 3 %, white oak 2 % a day over the run in a good kiln, fresh 75 and 65 %; here
    to 7 %, the charge's mean. The hardwood kiln factor was fitted to these two."""
    assert mean_days(oak, code, start) == pytest.approx(days, rel=0.15)


def mean_days(oak, code, start):
    schedule = schedules.for_wood("slow_hardwood", code, 25.4, 90, target_pct=7, humidifies=True)
    result = run(CONVENTIONAL, [heat.Parcel(oak, 25.4, 30, start)], schedule, 7, (15, 60))
    return np.interp(-7.25, -result.moisture_pct[0], result.hours) / 24


def test_white_oak_from_green_and_after_air_drying():
    """Worked example 5.5 (OSU EM 8612-E, published): 4/4 white oak more than a month from green, 1 to 2 weeks after."""
    assert mean_days(WHITE_OAK, "T4-C2", 65) > 30
    assert 7 <= mean_days(WHITE_OAK, "T4-C2", 20) <= 14


def test_red_oak_from_30_is_slower_than_lambs_example():
    """Worked example 5.1 (Lamb): 30 to 7 % at 3 % a day takes almost eight days. We are late by a third or so: the
    model's diffusion falls too fast with moisture. Kept here so that it shows."""
    assert 7.7 <= mean_days(RED_OAK, "T4-D2", 30) <= 7.7 * 1.5


def test_kiln_never_passes_its_maximum_and_the_air_is_possible():
    for chamber in (SMALL, CHECK, replace(CONVENTIONAL, max_temperature_c=55)):
        result = run(chamber)
        assert result.temperature_c.max() <= min(chamber.max_temperature_c, 55) + 0.5
        assert result.humidity_pct.min() >= 3
        assert result.humidity_pct.max() <= 97


def test_a_stronger_heater_is_never_slower():
    days = [run(replace(CHECK, heater_kw=power)).days for power in (1, 2, 4, 8, 16)]
    assert all(weak > strong for weak, strong in pairwise(days))


def test_what_rules_is_told():
    assert run(replace(CHECK, heater_kw=2)).limits["heater"] > 0.5
    assert run(replace(CHECK, heater_kw=50, vent_max_kg_s=0.01)).limits["vents"] > 0.5
    assert run(replace(CHECK, heater_kw=50, leak_per_h=6)).limits["leak"] > 0.3
    ample = run(replace(CHECK, heater_kw=50, vent_max_kg_s=1, leak_per_h=0.05))
    assert ample.limits["schedule"] > 0.8
    assert sum(ample.limits.values()) == pytest.approx(1)
    assert set(ample.ruled) <= set(kilncourse.LIMITS)
    assert sum(ample.hours_by_step) == pytest.approx(ample.hours[-1])


def test_more_heat_than_the_walls_lose_opens_the_vents():
    result = run(replace(CHECK, fan_kw=4, heater_kw=1), [heat.Parcel(SPRUCE, 25, 1, 16)], held(40, 50, 40, 40), 9)
    assert result.temperature_c.max() < 41
    assert result.limits["leak"] > 0.3


def test_a_kiln_in_frost_warms_up_first():
    result = run(SMALL, [heat.Parcel(SPRUCE, 27, 4, 60)], softwood(15), outdoors=(-15, 85))
    assert result.ruled[0] == "heating_up"
    assert result.reached
    assert result.days > run(SMALL, [heat.Parcel(SPRUCE, 27, 4, 60)], softwood(15), outdoors=(15, 70)).days


def test_high_country_air_is_thinner_but_the_balance_holds():
    result = run(replace(CHECK, altitude_m=2500))
    assert result.heater_kwh + result.fan_kwh == pytest.approx(sum(result.energy_kwh.values()), rel=1e-9)
    assert result.days == pytest.approx(run().days, rel=0.1)


def test_air_that_is_too_damp_never_gets_there():
    result = run(replace(CHECK, leak_per_h=0), schedule=held(50, 80, 50, 80), target_pct=8)
    assert not result.reached
    assert result.days == np.inf
    assert np.isinf(
        heat.run_days(replace(CHECK, leak_per_h=0), SPRUCE, 25, [30, 60], 8, held(50, 80, 50, 80), 8, 75)[0]
    ).all()


def test_slow_boards_end_a_kiln_dry_run_and_fast_ones_are_spared():
    """Wengert: equalise once the driest is two points under the target, stop when the wettest is at the target."""
    result = run(
        CONVENTIONAL, [heat.Parcel(RED_OAK, 27, 20, 40)], schedules.for_wood("slow_hardwood", "T4-D2", 27, 82), 8
    )
    assert result.wettest_pct[-1] == pytest.approx(8, abs=0.01)
    assert result.driest_pct[-1] > 5.7
    assert result.driest_pct[-1] < result.moisture_pct[0, -1] < 8


def test_a_mixed_charge_takes_as_long_as_its_wettest_and_warns_for_each():
    oak, pine = heat.Parcel(RED_OAK, 27, 1, 40, "slow_hardwood", 3.8), heat.Parcel(SPRUCE, 27, 1, 20)
    schedule = schedules.for_wood("slow_hardwood", "T4-D2", 27, 60, target_pct=8)
    both = run(CHECK, [oak, pine], schedule, 8)
    assert both.moisture_pct.shape == (2, len(both.hours))
    assert both.days >= run(CHECK, [oak], schedule, 8).days * 0.98
    assert both.water_kg == pytest.approx(
        560 * (40 - both.moisture_pct[0, -1]) / 100 + 380 * (20 - both.moisture_pct[1, -1]) / 100
    )


def test_harsh_air_shows_in_the_risk():
    oak = heat.Parcel(RED_OAK, 27, 2, 75, "slow_hardwood", 3.8)
    mild = run(CONVENTIONAL, [oak], schedules.schedule("T4-D2"), 30)
    harsh = run(CONVENTIONAL, [oak], held(60, 40, 60, 30), 30)
    assert harsh.risk["rate"] > 2 > 1.35 > mild.risk["rate"]
    assert [one.level for one in watch.run_watches(mild.risk, 8)[:2]] == ["mind", "none"]
    assert [one.level for one in watch.run_watches(harsh.risk, 8)[:2]] == ["act", "act"]
    assert harsh.risk["stress"] > 1.2 > mild.risk["stress"]


def test_range_of_humidity_a_kiln_holds():
    """By hand: 0.05 kg/s of vents carry 5 kg/h at 5/3600/0.05 = 27.8 g/kg above outdoors; psychrolib makes RH of it."""
    chamber = replace(CHECK, vent_max_kg_s=0.05)
    psychrolib.SetUnitSystem(psychrolib.SI)
    outside = psychrolib.GetHumRatioFromRelHum(8, 0.75, 101325)
    by_hand = psychrolib.GetRelHumFromHumRatio(50, outside + 5 / 3600 / 0.05, 101325) * 100
    driest, dampest = heat.humidity_range_pct(chamber, 50, 5, *OUTDOORS)
    assert driest == pytest.approx(by_hand, rel=1e-3)
    assert dampest == pytest.approx(100, abs=0.01)
    nearly_dry = heat.humidity_range_pct(chamber, 50, 0.1, *OUTDOORS)[1]
    assert driest < 45 < 60 > nearly_dry


def test_nothing_to_dry_is_refused():
    with pytest.raises(ValueError, match="nothing to dry"):
        run(parcels=[heat.Parcel(SPRUCE, 25, 3, 12)])
    with pytest.raises(ValueError, match="thickness"):
        heat.Parcel(SPRUCE, 500, 3, 60)
    with pytest.raises(ValueError, match="heater_kw"):
        heat.Chamber(5, 2, 2, 0, 70)
