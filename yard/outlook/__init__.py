"""The yard's door to the drying core: rows in, rows and plain figures out. Import from here, not from its parts."""

from yard.outlook import tools
from yard.outlook.book import book_species, green_pct, start_moisture_pct, wood
from yard.outlook.climates import PlaceAir, Preset, climate, climate_presets, place_emc, usual_temperature_c
from yard.outlook.corrections import (
    Corrected,
    correct,
    meter_curves,
    meter_scales,
    oven_dry_mass_g,
    sections_moisture_pct,
)
from yard.outlook.forecasts import Daily, daily_moisture, forget, refresh, refresh_missing
from yard.outlook.frost import frost_watches
from yard.outlook.standing import UNDER_WAY, Standing, State, standing, with_last_reading
from yard.outlook.tallies import DrySize, TallyFigures, dry_size, parse_widths, spread_lines, tally_figures
from yard.outlook.watches import watches

__all__ = [
    "UNDER_WAY",
    "Corrected",
    "Daily",
    "DrySize",
    "PlaceAir",
    "Preset",
    "Standing",
    "State",
    "TallyFigures",
    "book_species",
    "climate",
    "climate_presets",
    "correct",
    "daily_moisture",
    "dry_size",
    "forget",
    "frost_watches",
    "green_pct",
    "meter_curves",
    "meter_scales",
    "oven_dry_mass_g",
    "parse_widths",
    "place_emc",
    "refresh",
    "refresh_missing",
    "sections_moisture_pct",
    "spread_lines",
    "standing",
    "start_moisture_pct",
    "tally_figures",
    "tools",
    "usual_temperature_c",
    "watches",
    "with_last_reading",
    "wood",
]
