"""A good call of every public function of the core's doors, for the tests that walk them: arguments by name."""

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np

from drying import (
    air,
    casehardening,
    certainty,
    climate,
    diffusion,
    diffusivity,
    frost,
    heat,
    lanes,
    learning,
    measuring,
    meters,
    operating,
    ownschedule,
    quality,
    samples,
    schedules,
    tally,
    watch,
    weather,
    wood,
)

OAK = diffusion.Wood(560, 1, 0.41, 0.45)
CHAMBER: dict[str, Any] = {"length_m": 5, "width_m": 2, "height_m": 2, "heater_kw": 5, "max_temperature_c": 60}
CLIMATE = climate.PRESETS["temperate_inland"].climate
SCHEDULE = schedules.for_wood("slow_hardwood", "T4-D2", 27, 60)
MOIST = {"temperature_c": 20.0, "relative_humidity_pct": 65.0}
SAWN = {"total_shrinkage_pct": 8.0, "moisture_pct": 10.0, "planing_each_side_mm": 2.0, "saw_deviation_mm": 1.0}
RUN = {"thickness_mm": 27.0, "target_pct": 8.0, "outdoor_temperature_c": 8.0, "outdoor_humidity_pct": 75.0}
INSIDE = {"temperature_c": 50.0, "humidity_pct": 50.0}
OUTSIDE = {"outdoor_temperature_c": 8.0, "outdoor_humidity_pct": 75.0}
WIDTHS = diffusion.SIX_CELLS

# Numbers among the arguments are each replaced by NaN and by absurd values; the rest stays as it is.
CALLS: list[tuple[Callable[..., Any], dict[str, Any]]] = [
    (air.pressure_pa, {"altitude_m": 500.0}),
    (air.saturation_pressure_pa, {"temperature_c": 20.0}),
    (air.humidity_ratio, {**MOIST, "pressure_pa": 1e5}),
    (air.relative_humidity_pct, {"dry_bulb_c": 20.0, "wet_bulb_c": 15.0, "pressure_pa": 1e5}),
    (air.wet_bulb_c, {"dry_bulb_c": 20.0, "relative_humidity_pct": 65.0, "pressure_pa": 1e5}),
    (air.dew_point_c, MOIST),
    (air.enthalpy_kj_kg, {**MOIST, "pressure_pa": 1e5}),
    (air.density_kg_m3, {**MOIST, "pressure_pa": 1e5}),
    (air.vapour_concentration_kg_m3, MOIST),
    (air.latent_heat_j_kg, {"temperature_c": 20.0}),
    (wood.equilibrium_moisture_pct, MOIST),
    (wood.equilibrium_moisture_pct, {**MOIST, "clamped": True}),
    (wood.humidity_for_moisture_pct, {"temperature_c": 20.0, "moisture_pct": 12.0}),
    (wood.fibre_saturation_pct, {"temperature_c": 20.0}),
    (wood.shrunk_mm, {"green_mm": 100.0, "total_shrinkage_pct": 8.0, "moisture_pct": 10.0, "start_pct": 30.0}),
    (wood.change_coefficient, {"total_shrinkage_pct": 8.0}),
    (wood.moved_mm, {"size_mm": 100.0, "coefficient": 0.003, "from_pct": 8.0, "to_pct": 12.0}),
    (wood.grain_shrinkage_pct, {"radial_pct": 4.0, "tangential_pct": 8.0}),
    (wood.sawing_size_mm, {"finished_mm": 25.0, **SAWN, "start_pct": 30.0}),
    (wood.finished_size_mm, {"sawn_mm": 32.0, **SAWN, "start_pct": 30.0}),
    (wood.saw_deviation_mm, {"between_boards_sd_mm": 0.3, "within_boards_sd_mm": 0.4, "undersize_pct": 5.0}),
    (wood.mass_kg, {"volume_green_m3": 1.0, "basic_density_kg_m3": 500.0, "moisture_pct": 60.0}),
    (wood.water_kg, {"volume_green_m3": 1.0, "basic_density_kg_m3": 500.0, "from_pct": 60.0, "to_pct": 10.0}),
    (wood.density_kg_m3, {"basic_density_kg_m3": 500.0, "volumetric_shrinkage_pct": 12.0, "moisture_pct": 10.0}),
    (wood.heat_capacity_j_kg_k, {"temperature_c": 20.0, "moisture_pct": 12.0}),
    (samples.moisture_pct, {"wet_g": 115.0, "oven_dry_g": 100.0}),
    (samples.oven_dry_g, {"green_g": 2000.0, "moisture_pct": 80.0}),
    (samples.current_moisture_pct, {"mass_g": 115.0, "oven_dry_g": 100.0}),
    (samples.wet_basis_pct, {"moisture_pct": 80.0}),
    (samples.from_wet_basis_pct, {"wet_basis_pct": 40.0}),
    (samples.balance_g, {"oven_dry_g": 80.0}),
    (meters.chart_correction_pct, {"indicated_pct": 15.0, "wood_temperature_c": 10.0}),
    (
        meters.corrected_pct,
        {"indicated_pct": 15.0, "wood_temperature_c": 10.0, "calibration_temperature_c": 20.0},
    ),
    (tally.volume_m3, {"lines": [tally.Line(4000, 150, 40)], "thickness_mm": 27.0}),
    (tally.board_feet, {"volume_m3": 1.0}),
    (tally.wood_share, {"thickness_mm": 27.0, "sticker_mm": 25.0, "width_mm": 150.0, "gap_mm": 10.0}),
    (
        tally.estimate_layers,
        {"lines": [tally.Line(4000, 150, 40)], "stack_width_mm": 1200, "stack_length_mm": 4100},
    ),
    (tally.layer_count, {"lines": [tally.Line(4000, 150, 40)], "stack_width_mm": 1200, "stack_length_mm": 4100}),
    (tally.spread_lines, {"count": 40, "shortest_mm": 2500, "longest_mm": 4100, "mean_width_mm": 150}),
    (climate.Climate, {"temperature_c": (10.0,) * 12, "relative_humidity_pct": (75.0,) * 12, "altitude_m": 100.0}),
    (climate.equilibrium_pct, {"climate": CLIMATE, "exposure": climate.Exposure.OPEN_YARD, "when": 5}),
    (climate.equilibrium_of_air_pct, {**MOIST, "exposure": climate.Exposure.OPEN_YARD}),
    (weather.Day, {"day": date(2025, 5, 3), **MOIST, "rain_mm": 1.5}),
    (
        weather.mean_of_hours,
        {"temperature_c": np.array([8.0, 18.0]), "relative_humidity_pct": np.array([90.0, 50.0])},
    ),
    (weather.daily, {"climate": CLIMATE, "log": None, "first": date(2025, 5, 3), "days": 30}),
    (frost.thawed, {"temperature_c": -3.0}),
    (frost.frozen, {"temperature_c": -3.0, "moisture": 0.8}),
    (diffusion.cell_widths, {"cells": 6, "ratio": 1.35}),
    (diffusion.evaporative_cooling, {"temperature_c": np.array(20.0), "humidity": 0.65, "pressure_pa": 101325.0}),
    (diffusion.start, {"boards": diffusion.Boards.of(OAK, 27), "moisture": 0.8}),
    (diffusion.Boards.of, {"wood": OAK, "thickness_mm": 27.0, "rate": 0.4, "transfer_m_s": 3e-3}),
    (diffusion.Air.of, {**MOIST, "pressure_pa": 101325.0}),
    (
        diffusion.Wood,
        {"basic_density_kg_m3": 560.0, "permeability": 1.0, "rate": 0.41, "rate_log_sd": 0.45},
    ),
    (diffusivity.activity, {"moisture": 0.15, "temperature_c": 20.0}),
    (diffusivity.bound_water_m2_s, {"moisture": 0.15, "temperature_c": 20.0}),
    (diffusivity.siau_m2_s, {"moisture": 0.15, "temperature_c": 20.0, "specific_gravity": 0.5}),
    (heat.Chamber, {**CHAMBER, "wall_u_w_m2k": 0.5, "fan_kw": 0.3, "altitude_m": 100.0, "rate_factor": 1.0}),
    (heat.Chamber, {**CHAMBER, "vent_max_kg_s": 0.1, "leak_per_h": 0.3}),
    (heat.Parcel, {"wood": OAK, "thickness_mm": 27.0, "volume_m3": 3.0, "moisture_pct": 60.0}),
    (heat.RunRequest, {"chamber": heat.Chamber(**CHAMBER), "wood": OAK, "schedule": SCHEDULE, **RUN, "volume_m3": 3.0}),
    (
        heat.kiln_run,
        {
            "chamber": heat.Chamber(**CHAMBER),
            "parcels": [heat.Parcel(OAK, 27, 3, 10)],
            "schedule": SCHEDULE,
            "target_pct": 9.8,
            **OUTSIDE,
        },
    ),
    (
        heat.run_days,
        {"chamber": heat.Chamber(**CHAMBER), "wood": OAK, "schedule": SCHEDULE, **RUN, "start_moistures_pct": 8.5},
    ),
    (heat.conditioning_hours, {"thickness_mm": 27.0}),
    (heat.heater_kg_water_per_day, {"chamber": heat.Chamber(**CHAMBER), **INSIDE, **OUTSIDE}),
    (
        heat.humidity_range_pct,
        {"chamber": heat.Chamber(**CHAMBER), "temperature_c": 50.0, "evaporation_kg_h": 3.0, **OUTSIDE},
    ),
    (lanes.pack, {"sizes": [1500, 2500], "capacity": 4000}),
    (
        learning.said_by_readings,
        {
            "mean": np.array([-1.0, -0.8]),
            "sd": np.array([0.2, 0.3]),
            "prior_mean": np.array([-0.9, -0.9]),
            "prior_sd": np.array([0.45, 0.45]),
        },
    ),
    (
        learning.days_between,
        {
            "days": np.array([0.0, 2.0, 6.0]),
            "moisture_pct": np.array([30.0, 20.0, 10.0]),
            "from_pct": 28.0,
            "to_pct": 12.0,
        },
    ),
    (
        learning.kiln_shift,
        {"runs": [learning.RunOutcome("A", 10.0, 8.0)], "kiln_log_sd": 0.35, "run_log_sd": 0.3},
    ),
    (schedules.Step, {"from_moisture_pct": 30.0, "dry_bulb_c": 50.0, "wet_bulb_depression_k": 5.0}),
    (operating.standing, {"samples_pct": np.array([30.0, 28.0, 25.0])}),
    (operating.is_warm, {"dry_bulb_c": 40.0, "schedule": SCHEDULE}),
    (operating.is_cool, {"dry_bulb_c": 40.0, "outside_c": 8.0}),
    (
        operating.setting,
        {"phase": "drying", "schedule": SCHEDULE, "finish": schedules.finish(8, "hardwood"), "controlling_pct": 30.0},
    ),
    (operating.loss_pct_per_day, {"days": [0.0, 1.0], "moisture_pct": np.array([30.0, 28.0])}),
    (operating.days_to, {"moisture_pct": 30.0, "wanted_pct": 25.0, "loss_per_day_pct": 2.0}),
    (operating.next_start_pct, {"schedule": SCHEDULE, "step": 1}),
    (
        operating.heater_falls_short,
        {"dry_bulb_c": 40.0, "wanted_c": 50.0, "steps_on": 1, "steps": 3, "hours_since_set": 20.0},
    ),
    (schedules.finish, {"target_pct": 8.0, "wood_class": "softwood"}),
    (schedules.index_code, {"species": "red oak, upland", "thickness_mm": 27.0}),
    (schedules.code_for_thickness, {"code_25mm": "T4-D2", "code_50mm": "T3-D1", "thickness_mm": 27.0}),
    (
        schedules.for_wood,
        {
            "drying_group": "slow_hardwood",
            "code": "T4-D2",
            "thickness_mm": 27.0,
            "max_temperature_c": 60.0,
            "target_pct": 8.0,
            "lowest_wet_bulb_c": 32.0,
        },
    ),
    (SCHEDULE.step_index, {"moisture_pct": 30.0}),
    (watch.safe_rate_pct_per_day, {"rate_25mm_pct_per_day": 3.8, "thickness_mm": 27.0}),
    (
        watch.drying_too_fast,
        {
            "loss_pct_per_day": 3.0,
            "safe_25mm_pct_per_day": 3.8,
            "thickness_mm": 27.0,
            "moisture_pct": 60.0,
            **MOIST,
        },
    ),
    (
        watch.stress_index,
        {
            "profile_pct": np.full(6, 40.0),
            "widths": WIDTHS,
            "surface_pct": 20.0,
            "saturation_pct": 28.0,
            "safe_emc_pct": 14.0,
        },
    ),
    (watch.stress_watch, {"index": 0.9}),
    (watch.case_hardening_watch, {"worst_index_core_wet": 0.9, "core_less_surface_pct": 2.0, "target_pct": 8.0}),
    (
        watch.run_watches,
        {"risk": {"rate": 1.0, "stress": 1.0, "stress_core_wet": 1.0, "core_less_surface_pct": 1.0}, "target_pct": 8.0},
    ),
    (watch.stain_watch, {"moisture_pct": 60.0, **MOIST, "has_sapwood": True}),
    (watch.frost_watch, {"moisture_pct": 60.0, "temperature_c": -5.0}),
    (quality.tolerance, {"target_pct": 12.0}),
    (quality.spread, {"moisture_pct": np.array([11.0, 12.0])}),
    (quality.judge, {"moisture_pct": np.array([11.0, 12.0]), "target_pct": 12.0, "confidence_pct": 95.0}),
    (quality.uses, {"moisture_pct": np.array([11.0, 12.0])}),
    (
        quality.shrinkage,
        {
            "green_mm": np.array([100.0, 101.0]),
            "dried_mm": np.array([96.0, 96.5]),
            "total_shrinkage_pct": 8.0,
            "moisture_pct": 10.0,
        },
    ),
    (ownschedule.step_air, {"dry_bulb_c": 50.0, "wet_bulb_c": 45.0}),
    (ownschedule.step_air, {"dry_bulb_c": 50.0, "humidity_pct": 60.0}),
    (ownschedule.step_air, {"dry_bulb_c": 50.0, "emc_pct": 10.0}),
    (certainty.counts, {"inside": 19, "pieces": 20, "lot_pieces": 100}),
    (certainty.share_interval, {"inside": 19, "pieces": 20, "lot_pieces": 100, "confidence_pct": 95.0}),
    (certainty.sure_at_least_pct, {"inside": 19, "pieces": 20, "share_pct": 93.5}),
    (certainty.pieces_to_prove, {"share_pct": 93.5, "outside": 0, "confidence_pct": 95.0}),
    (measuring.pin_depth_mm, {"thickness_mm": 27.0}),
    (measuring.core_depth_mm, {"thickness_mm": 27.0}),
    (measuring.points, {"length_mm": 4000.0, "width_mm": 150.0, "thickness_mm": 27.0, "readings": 2}),
    (measuring.slice_from_end_mm, {"length_mm": 4000.0}),
    (measuring.pieces_to_measure, {"lot_pieces": 200.0}),
    (casehardening.gap_on_100_mm, {"gap_mm": 1.0, "width_mm": 150.0}),
    (casehardening.gap_class, {"gap_mm": 1.0, "width_mm": 150.0, "share_pct": 90.0}),
    (casehardening.prong, {"fresh_mm": 20.0, "rested_mm": 18.0, "prong_mm": 100.0}),
    (casehardening.gradient, {"core_pct": 12.0, "shell_pct": 9.0, "most_pct": 3.0}),
]
