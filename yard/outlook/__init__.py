"""The yard's door to the drying core: rows in, rows and plain figures out. Import from here, not from its parts."""

from yard.outlook import tools
from yard.outlook.book import book_species, green_pct, start_moisture_pct, wood
from yard.outlook.climates import PlaceAir, Preset, climate, climate_presets, place_emc, usual_temperature_c
from yard.outlook.corrections import (
    Corrected,
    correct,
    has_probe_curve,
    meter_curves,
    meter_scales,
    oven_dry_mass_by_meter_g,
    oven_dry_mass_g,
    probe_moisture_pct,
    sections_moisture_pct,
)
from yard.outlook.cuts import BoardCut, LineCuts, cut_line, log_m3, logs_needed
from yard.outlook.finding import Find, Found, Wish, find_boards, fit_of
from yard.outlook.forecasts import (
    Daily,
    believe,
    daily_moisture,
    doubt,
    forget,
    forget_learned,
    refresh,
    refresh_missing,
)
from yard.outlook.frost import frost_watches
from yard.outlook.learning import Kind, Knowledge, Shift, Told, knowledge
from yard.outlook.promises import Promise, Wanted, promise, slipped, wanted
from yard.outlook.serving import Served, Server, ToSaw, kiln_tells, serve, to_saw
from yard.outlook.sharing import Gets, share
from yard.outlook.standing import UNDER_WAY, Standing, State, standing, with_last_reading
from yard.outlook.tallies import DrySize, TallyFigures, dry_size, parse_widths, spread_lines, tally_figures
from yard.outlook.uses import usual_target_pct
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
    "BoardCut",
    "Corrected",
    "Daily",
    "DrySize",
    "Find",
    "Found",
    "Gets",
    "Kind",
    "Knowledge",
    "LineCuts",
    "MonthWeather",
    "PlaceAir",
    "Preset",
    "Promise",
    "Served",
    "Server",
    "Shift",
    "Standing",
    "State",
    "TallyFigures",
    "ToSaw",
    "Told",
    "Wanted",
    "Wish",
    "believe",
    "book_species",
    "climate",
    "climate_presets",
    "correct",
    "cut_line",
    "daily_moisture",
    "doubt",
    "dry_size",
    "find_boards",
    "fit_of",
    "forget",
    "forget_learned",
    "frost_watches",
    "green_pct",
    "has_probe_curve",
    "kiln_tells",
    "knowledge",
    "log_m3",
    "logs_needed",
    "meter_curves",
    "meter_scales",
    "oven_dry_mass_by_meter_g",
    "oven_dry_mass_g",
    "parse_widths",
    "place_emc",
    "probe_moisture_pct",
    "promise",
    "read_weather",
    "refresh",
    "refresh_missing",
    "sections_moisture_pct",
    "serve",
    "share",
    "slipped",
    "spread_lines",
    "standing",
    "start_moisture_pct",
    "tally_figures",
    "to_saw",
    "tools",
    "usual_target_pct",
    "usual_temperature_c",
    "wanted",
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
