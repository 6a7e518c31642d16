"""A run's heat against other libraries' enthalpies, another road to each term, and the range of the trade."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from drying import heat, schedules, wood
from tests.drying.test_heat import CHECK, CONVENTIONAL, OUTDOORS, RED_OAK, SPRUCE, WARM, WHITE_OAK, held, run


@pytest.mark.parametrize(
    ("parcels", "schedule", "target_pct", "outdoors"),
    [
        ([heat.Parcel(SPRUCE, 25, 3.5, 60)], WARM, 15, OUTDOORS),
        ([heat.Parcel(RED_OAK, 27, 3.5, 20)], WARM, 8, (-5, 85)),
        ([heat.Parcel(RED_OAK, 27, 2.5, 60), heat.Parcel(SPRUCE, 27, 1, 40)], held(45, 70, 55, 40), 10, (20, 60)),
    ],
)
def test_the_whole_run_is_balanced_by_coolprops_enthalpies(parcels, schedule, target_pct, outdoors):
    """First law over chamber and wood from the recorded air and moistures, none of our own formulas: humid air and
    water by CoolProp (ASHRAE RP-1485, IAPWS), dry wood by WH eq. (4-16a), bound water by Nelson's heat of sorption,
    walls by U A. Heater and fans put in as much within 1 %; each step's air is taken as it stood at its end."""
    result = run(parcels=parcels, schedule=schedule, target_pct=target_pct, outdoors=outdoors)
    dry_kg = np.array([one.wood.basic_density_kg_m3 * one.volume_m3 for one in parcels])
    first = [one.moisture_pct for one in parcels]
    moisture = np.column_stack([first, result.moisture_pct]) / 100
    out_ratio, out_enthalpy = humid(*outdoors)
    ratio, enthalpy = np.transpose([humid(*air) for air in zip(result.temperature_c, result.humidity_pct, strict=True)])
    water_kg = dry_kg @ -np.diff(moisture, axis=1)
    vented = np.sum(water_kg / (ratio - out_ratio) * (enthalpy - out_enthalpy))

    def kept(temperature_c, share):
        kelvin = temperature_c + 273.15
        bare = 1e3 * (0.1031 * temperature_c + 0.003867 * (kelvin**2 - 273.15**2) / 2)
        liquid = PropsSI("H", "T", max(kelvin, 273.16), "P", 101325, "Water")
        bound = 5040 / 14 * 4184 / 18.0153 * np.exp(-14 * share)
        return dry_kg @ (bare + share * liquid + bound) + 60e3 * temperature_c  # and the structure's 60 kJ/K

    hours = np.diff(result.hours, prepend=0)
    walls = CHECK.wall_w_k * 3600 * np.sum(hours * (result.temperature_c - outdoors[0]))
    stored = kept(result.temperature_c[-1], moisture[:, -1]) - kept(outdoors[0], moisture[:, 0])
    assert result.heater_kwh + result.fan_kwh == pytest.approx((vented + walls + stored) / 3.6e6, rel=0.01)


def humid(temperature_c, humidity_pct):
    """Humidity ratio and enthalpy, J per kg of dry air, by CoolProp."""
    state = ("T", temperature_c + 273.15, "P", 101325, "R", humidity_pct / 100)
    return HAPropsSI("W", *state), HAPropsSI("H", *state)


def test_heat_of_sorption_hangs_on_the_moistures_and_not_on_the_way_between():
    """A mild and a harsh run between the same moistures. Boards and cells differ at the end, and what binds water binds
    it harder the drier it is: so the mean's heat is the least there can be, and unevenness adds a little."""
    slow, fast = (run(schedule=air, target_pct=10) for air in (held(45, 50, 45, 42), held(60, 40, 60, 35)))
    bound = wood.sorption_heat_j_kg([60.0, 10.0])
    by_hand = 380 * 3.5 * (bound[1] - bound[0]) / 3.6e6
    for result in (slow, fast):
        assert by_hand < result.energy_kwh["sorption"] < 1.35 * by_hand


@pytest.mark.parametrize(("oak", "code", "start"), [(RED_OAK, "T4-D2", 75), (WHITE_OAK, "T4-C2", 65)])
def test_energy_of_a_conventional_kiln_lies_in_the_range_of_the_trade(oak, code, start):
    """physics.csv (recalled, no single publication): a vented kiln takes 1.0 to 1.9 kWh/kg of water, of which
    evaporation with sorption is 35 to 50 %, vent air 20 to 35, walls and leaks 10 to 25, warming 5 to 10 %."""
    schedule = schedules.for_wood("slow_hardwood", code, 25.4, 90, target_pct=7, humidifies=True)
    result = run(CONVENTIONAL, [heat.Parcel(oak, 25.4, 30, start)], schedule, 7, (10, 70))
    total = sum(result.energy_kwh.values())
    share = {name: kwh / total for name, kwh in result.energy_kwh.items()}
    assert 1.0 <= result.kwh_per_kg <= 1.9
    assert 0.35 <= share["evaporation"] + share["sorption"] <= 0.50
    assert 0.20 <= share["vents"] <= 0.35
    assert 0.10 <= share["walls"] <= 0.25
    assert 0.05 <= share["warming"] <= 0.10
