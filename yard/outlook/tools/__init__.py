"""The small calculators of the page Tools, on the core: plain figures in, an `Answer` out or a `RefusedError`."""

from yard.outlook.tools.airs import COLDEST_C, COLDEST_WET_C, HIGHEST_M, HOTTEST_C, air_for, equilibrium, moist_air
from yard.outlook.tools.answer import Answer, RefusedError
from yard.outlook.tools.moistures import meter, oven_dry, sample_board
from yard.outlook.tools.sizes import finished, mass, sawing
from yard.outlook.tools.tables import phone_tables
from yard.outlook.tools.whatif import USUAL_MM, Asked, drying_times, drying_times_of, start_of

__all__ = [
    "COLDEST_C",
    "COLDEST_WET_C",
    "HIGHEST_M",
    "HOTTEST_C",
    "USUAL_MM",
    "Answer",
    "Asked",
    "RefusedError",
    "air_for",
    "drying_times",
    "drying_times_of",
    "equilibrium",
    "finished",
    "mass",
    "meter",
    "moist_air",
    "oven_dry",
    "phone_tables",
    "sample_board",
    "sawing",
    "start_of",
]
