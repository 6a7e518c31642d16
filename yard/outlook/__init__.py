"""The yard's door to the drying core: rows in, rows and plain figures out. Import from here, not from its parts."""

from yard.outlook import tools
from yard.outlook.book import book_species, green_pct, start_moisture_pct, wood
from yard.outlook.climates import PlaceAir, Preset, climate, climate_presets, place_emc, usual_temperature_c
from yard.outlook.corrections import (
    Corrected,
    correct,
    meter_curves,
    meter_scales,
    oven_dry_mass_by_meter_g,
    oven_dry_mass_g,
    sections_moisture_pct,
)
from yard.outlook.finding import Find, Found, Wish, find_boards, fit_of
from yard.outlook.forecasts import Daily, daily_moisture, doubt, forget, forget_learned, refresh, refresh_missing
from yard.outlook.frost import frost_watches
from yard.outlook.learning import Kind, Knowledge, Shift, Told, knowledge
from yard.outlook.standing import UNDER_WAY, Standing, State, standing, with_last_reading
from yard.outlook.tallies import DrySize, TallyFigures, dry_size, parse_widths, spread_lines, tally_figures
from yard.outlook.watches import watches, weather_lately
from yard.outlook.weather import (
    MonthWeather,
    read_weather,
    weather_gaps,
    weather_logs,
    weather_months,
    weather_until,
    write_weather,
)

__all__ = [
    "UNDER_WAY",
    "Corrected",
    "Daily",
    "DrySize",
    "Find",
    "Found",
    "Kind",
    "Knowledge",
    "MonthWeather",
    "PlaceAir",
    "Preset",
    "Shift",
    "Standing",
    "State",
    "TallyFigures",
    "Told",
    "Wish",
    "book_species",
    "climate",
    "climate_presets",
    "correct",
    "daily_moisture",
    "doubt",
    "dry_size",
    "find_boards",
    "fit_of",
    "forget",
    "forget_learned",
    "frost_watches",
    "green_pct",
    "knowledge",
    "meter_curves",
    "meter_scales",
    "oven_dry_mass_by_meter_g",
    "oven_dry_mass_g",
    "parse_widths",
    "place_emc",
    "read_weather",
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
    "weather_gaps",
    "weather_lately",
    "weather_logs",
    "weather_months",
    "weather_until",
    "with_last_reading",
    "wood",
    "write_weather",
]
