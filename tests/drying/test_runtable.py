"""Tables of kiln days for the planner, against single runs."""

from dataclasses import replace

import numpy as np
import pytest

from drying import heat, schedules
from drying.diffusion import Wood

SPRUCE = Wood(basic_density_kg_m3=380, permeability=5, rate=0.35, rate_log_sd=0.45, wood_class="softwood")
RED_OAK = Wood(basic_density_kg_m3=560, permeability=1, rate=0.41, rate_log_sd=0.45)
SMALL = heat.Chamber(length_m=7.2, width_m=1.8, height_m=1.6, heater_kw=6, max_temperature_c=60)
OUTDOORS = (8.0, 75.0)


def softwood(target_pct, thickness_mm=27):
    return schedules.for_wood("softwood", None, thickness_mm, 60, target_pct=target_pct)


def test_tables_agree_with_single_runs():
    for species, thickness, schedule in (
        (SPRUCE, 27, softwood(8)),
        (RED_OAK, 34, schedules.for_wood("slow_hardwood", "T3-D1", 34, 60, target_pct=8)),
    ):
        table = heat.run_tables([heat.RunRequest(SMALL, species, thickness, 8, schedule, *OUTDOORS, volume_m3=4)])[0]
        for start in (13.0, 45.0):
            one = heat.kiln_run(SMALL, [heat.Parcel(species, thickness, 4, start)], schedule, 8, *OUTDOORS)
            assert float(table.days(start)) == pytest.approx(one.days, rel=0.04, abs=0.2)
            assert float(table.heater_kwh(start)) == pytest.approx(one.heater_kwh, rel=0.04)


def test_a_table_does_not_depend_on_its_company():
    requests = [heat.RunRequest(SMALL, SPRUCE, mm, 8, softwood(8, mm), *OUTDOORS) for mm in (27, 60, 27)]
    together, alone = heat.run_tables(requests), heat.run_tables(requests[:1])
    np.testing.assert_allclose(together[0].run_days, alone[0].run_days, rtol=1e-9)
    assert together[2] is together[0]
    assert heat.run_tables([]) == []


def test_days_rise_with_start_moisture_and_are_none_at_the_target():
    table = heat.run_tables([heat.RunRequest(SMALL, SPRUCE, 27, 8, softwood(8), *OUTDOORS)])[0]
    assert (np.diff(table.run_days) > 0).all()
    np.testing.assert_allclose(table.days([5, 8]), 0)
    days, used = heat.run_days(SMALL, SPRUCE, 27, [8, 20, 60], 8, softwood(8), *OUTDOORS)
    assert days[0] == used[0] == 0
    np.testing.assert_allclose(days[1:], table.days([20, 60]), rtol=0.03)


def test_a_kilns_own_factor_is_a_clock():
    """Where neither heater nor leak rule, twice the rate takes half the time but for the warming up."""
    tight = replace(SMALL, heater_kw=100, leak_per_h=0.01, vent_max_kg_s=2)
    slow, fast = (
        heat.run_days(replace(tight, rate_factor=factor), RED_OAK, 52, [40], 10, softwood(10), *OUTDOORS, volume_m3=1)[
            0
        ]
        for factor in (1.0, 2.0)
    )
    assert slow[0] / fast[0] == pytest.approx(2, rel=0.06)
