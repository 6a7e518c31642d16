"""The yard's door to the drying core: rows in, rows and plain figures out. Import from here, not from its parts."""

from yard.outlook import tools
from yard.outlook.book import book_species, green_pct, schedule_code, start_moisture_pct, wood
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
from yard.outlook.costs import CostSoFar, cost_so_far, kiln_costs_told_by
from yard.outlook.cuts import BoardCut, LineCuts, cut_line
from yard.outlook.finding import Find, Found, Wish, find_boards, fit_of
from yard.outlook.forecasts import Daily, daily_moisture, doubt, forget, forget_learned, refresh, refresh_missing
from yard.outlook.frost import frost_watches
from yard.outlook.learning import Kind, Knowledge, Shift, Told, knowledge
from yard.outlook.left_yard import Left, LogYield, left_since, log_yield
from yard.outlook.promises import Promise, Wanted, promise, slipped, wanted
from yard.outlook.sawdays import KILN_ENTRY_PCT, KilnAsk, SawDays, days_of_lines, kiln_takes, saw_days, usual_place
from yard.outlook.sawdays import Wish as SawWish
from yard.outlook.sawing import Logs, SawLine, SawnPart, ToSaw, logs_for, saw_lines, sawn_part, to_saw
from yard.outlook.serving import Served, Server, kiln_tells, serve
from yard.outlook.sharing import Gets, share
from yard.outlook.standing import UNDER_WAY, Standing, State, standing, with_last_reading
from yard.outlook.stock import STATES, Age, Holding, Lot, Stock, stock
from yard.outlook.stock_months import MonthEnd, stock_by_month
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
    "KILN_ENTRY_PCT",
    "STATES",
    "UNDER_WAY",
    "Age",
    "BoardCut",
    "Corrected",
    "CostSoFar",
    "Daily",
    "DrySize",
    "Find",
    "Found",
    "Gets",
    "Holding",
    "KilnAsk",
    "Kind",
    "Knowledge",
    "Left",
    "LineCuts",
    "LogYield",
    "Logs",
    "Lot",
    "MonthEnd",
    "MonthWeather",
    "PlaceAir",
    "Preset",
    "Promise",
    "SawDays",
    "SawLine",
    "SawWish",
    "SawnPart",
    "Served",
    "Server",
    "Shift",
    "Standing",
    "State",
    "Stock",
    "TallyFigures",
    "ToSaw",
    "Told",
    "Wanted",
    "Wish",
    "book_species",
    "climate",
    "climate_presets",
    "correct",
    "cost_so_far",
    "cut_line",
    "daily_moisture",
    "days_of_lines",
    "doubt",
    "dry_size",
    "find_boards",
    "fit_of",
    "forget",
    "forget_learned",
    "frost_watches",
    "green_pct",
    "has_probe_curve",
    "kiln_costs_told_by",
    "kiln_takes",
    "kiln_tells",
    "knowledge",
    "left_since",
    "log_yield",
    "logs_for",
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
    "saw_days",
    "saw_lines",
    "sawn_part",
    "schedule_code",
    "sections_moisture_pct",
    "serve",
    "share",
    "slipped",
    "spread_lines",
    "standing",
    "start_moisture_pct",
    "stock",
    "stock_by_month",
    "tally_figures",
    "to_saw",
    "tools",
    "usual_place",
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
