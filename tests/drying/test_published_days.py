"""Days in the yard against published ones: the air-drying table, red oak by month, sugar maple, thick oak.

What is and is not independent. The rates are fitted (drying/rates.py) to the middle of their row of the table, times
1.4 for small well-kept stacks: so a row checks that one rate a species carries over seasons and climates, not the rate.
Red oak's rate is fitted to the mean of its three months; the season's spread is not.
The slope of the frost factor was chosen with the red oak months in view (three figures, one slope).

The table's own definition: minimum, stacked in spring or early summer, or in the south; maximum, stacked in autumn or
winter, or in the north. We dry 27 mm (a rough inch) in Memphis and in Madison, stacked on the first of each month.
"""

import csv
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from drying.climate import Climate, Exposure
from drying.forecast import StackInput, Stay, Wood, simulate_all
from drying.species import SPECIES, green_pct
from drying.wood import humidity_for_moisture_pct

PUBLISHED = Path(__file__).parent / "published"
ROWS = {
    "interior_north_douglas_fir": "Douglas-fir, interior north",
    "eastern_white_pine": "eastern white pine",
    "ponderosa_pine": "ponderosa pine",
    "red_spruce": "red spruce",
    "quaking_aspen": "aspen (bigtooth, quaking)",
    "american_basswood": "American basswood",
    "paper_birch": "paper birch",
    "black_cherry": "black cherry",
    "red_maple": "red or silver maple",
    "sugar_maple": "sugar maple",
    "white_oak": "northern white oak",
    "black_walnut": "black walnut",
    "silver_maple": "red or silver maple",
    "shagbark_hickory": "hickory",
    "mockernut_hickory": "hickory",
    "pignut_hickory": "hickory",
    "american_sycamore": "American sycamore",
    "red_alder": "red alder",
    "american_elm": "American elm",
    "black_willow": "black willow",
    "lodgepole_pine": "lodgepole pine",
    "sugar_pine": "sugar pine, light",
    "engelmann_spruce": "Engelmann spruce",
    "western_larch": "western larch",
    "eastern_hemlock": "eastern hemlock",
    "loblolly_pine": "southern pines (loblolly, longleaf, shortleaf, slash)",
    "longleaf_pine": "southern pines (loblolly, longleaf, shortleaf, slash)",
    "shortleaf_pine": "southern pines (loblolly, longleaf, shortleaf, slash)",
    "old_growth_redwood": "redwood, light",
    "baldcypress": "baldcypress",
    "sweetgum": "sweetgum heartwood",
    "yellow_birch": "sweet or yellow birch",
}
# A known miss, kept in view: nearly dry when green, so that its season matters more than its row allows.
MISSED = {"eastern_redcedar": "eastern redcedar"}


@cache
def climate(place: str) -> Climate:
    """Published monthly EMC and usual temperatures (both recalled, see the file)."""
    with (PUBLISHED / "outdoor_climates.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["place"] == place]
    temperature = tuple(float(row["mean_temp_C"]) for row in rows)
    emc = [float(row["emc_percent"]) for row in rows]
    return Climate(temperature, tuple(humidity_for_moisture_pct(temperature, emc).tolist()))


@cache
def published_range(row_name: str) -> tuple[float, float]:
    """Approximate air-drying times, 25 mm, green to 20 %: AH-402 / FPL-GTR-117 / Wood Handbook ch. 13 (recalled)."""
    with (PUBLISHED / "air_drying_times.csv").open(encoding="utf-8") as file:
        row = next(row for row in csv.DictReader(file) if row["species"] == row_name)
    return float(row["days_min"]), float(row["days_max"])


def wood_of(key: str, rate: float | None = None) -> Wood:
    species = SPECIES[key]
    return Wood(species.basic_density_kg_m3, species.permeability, rate or species.rate, species.rate_log_sd)


def days(wood: Wood, green: float, place: Climate, months: Sequence[int], thickness_mm: float = 27.0) -> np.ndarray:
    """Days to 20 % when stacked on the first of these months; inf beyond the days followed."""
    begins = [date(2021, month, 1) for month in months]
    stacks = [
        StackInput("", wood, thickness_mm, begin, green, 0.0, (Stay(begin, place, Exposure.OPEN_YARD),), (), 20.0)
        for begin in begins
    ]
    reached = [course.day_reaching(20.0) for course in simulate_all(stacks, days=900 if thickness_mm > 30 else 450)]
    return np.array([np.inf if day is None else day for day in reached])


@cache
def year_of_days(key: str) -> tuple[np.ndarray, np.ndarray]:
    """Days by month of stacking in the south and in the north; 80 % green where no figure is at hand."""
    green = green_pct(SPECIES[key], "heartwood" if key == "sweetgum" else "mixed") or 80.0
    south, north = (days(wood_of(key), green, climate(p), range(1, 13)) for p in ("Memphis TN", "Madison WI"))
    return south, north


@pytest.mark.parametrize("key", list(ROWS))
def test_days_to_20_percent_lie_in_the_published_range(key):
    """The middle of a year's stackings in both climates lies in the range; the extremes fall in the seasons that the
    table names, the slowest month at most 1.6 times the maximum, the fastest at least half the minimum."""
    low, high = published_range(ROWS[key])
    south, north = year_of_days(key)
    both = np.concatenate([south, north])
    assert low <= np.median(both) <= high
    assert north.argmax() + 1 in (8, 9, 10, 11, 12)
    assert south.argmin() + 1 in (4, 5, 6, 7, 8)
    assert both.max() <= 1.6 * high
    assert both.min() >= 0.5 * low


def test_the_table_is_met_as_a_whole():
    """Our stackings lie towards the published minimum (well-kept small stacks on thin stickers, against the table's
    wide old piles), by the factor 1.4 that the fit was given; one of 33 rows is missed, too fast."""
    rows = {**ROWS, **MISSED}
    inside, off = 0, []
    for key, name in rows.items():
        low, high = published_range(name)
        middle = np.median(np.concatenate(year_of_days(key)))
        inside += low <= middle <= high
        off.append(np.log(middle / np.sqrt(low * high)))
    assert len(rows) == 33
    assert inside == 32
    assert np.mean(off) == pytest.approx(-np.log(1.4), abs=0.03)


def test_red_oak_by_month_of_stacking():
    """Simpson & Hart's method for northern red oak in Madison (quoted second-hand): 82, 154, 184 days when stacked on 1
    April, 1 September, 1 October; with the species' own rate."""
    ours = days(wood_of("northern_red_oak"), 80.0, climate("Madison WI"), (4, 9, 10))
    assert ours == pytest.approx([82, 154, 184], rel=0.10)


def test_sugar_maple_flooring_stock():
    """Peck 1957, FPL Report 2086: 4/4 sugar maple, Upper Michigan, 40 to 205 days to 20 %, mean about 90. Climate from
    memory. Our rate is slower than that yard's (mean within 40 %); the range is theirs."""
    upper_michigan = Climate(
        (-9.5, -8.3, -3.0, 4.0, 10.5, 15.8, 18.8, 18.2, 13.6, 7.6, 0.3, -6.3),
        (80, 77, 74, 68, 66, 69, 70, 74, 77, 76, 81, 83),
    )
    ours = days(wood_of("sugar_maple"), 68.0, upper_michigan, range(1, 13))
    assert 90 <= ours.mean() <= 90 * 1.4
    assert ours.min() >= 40
    assert ours.max() <= 205 * 1.05


def test_thick_oak_takes_a_year_an_inch():
    """A year per inch for thick oak (common practice, no source): 54 mm in Madison takes one to three winters."""
    ours = days(wood_of("white_oak"), 70.0, climate("Madison WI"), (3, 6, 9), 54.0)
    assert ours.min() > 200
    assert ours.max() < 900


def test_season_matters_more_in_the_north():
    south, north = year_of_days("northern_red_oak")
    assert north.max() / north.min() > south.max() / south.min()
