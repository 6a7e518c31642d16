"""The packaged rates are what the fit gives, and the fit does what it says."""

import csv
from pathlib import Path

import numpy as np
import pytest

from drying import rates
from drying.rates import NORTH, SOUTH, WELL_KEPT, refitted
from drying.species import SPECIES
from drying.tables import rows

PUBLISHED = Path(__file__).parent / "published"


@pytest.fixture(scope="module")
def fitted():
    return refitted()


def test_the_packaged_table_is_what_the_refit_gives(fitted):
    """To a unit of the second decimal, which another processor's rounding may move."""
    assert set(fitted) == set(SPECIES)
    for key, species in SPECIES.items():
        assert species.rate == pytest.approx(fitted[key].rate, abs=0.0101), key
        assert species.rate_log_sd == fitted[key].rate_log_sd
        assert species.sources["rate"] == fitted[key].source


def test_the_middle_stacking_takes_the_middle_of_the_row(fitted):
    """At the fitted rate without the factor for well-kept stacks, within the rounding of the rate (3 %)."""
    basis = [row for row in rows("rate_basis") if row["days_min"]]
    aims = [rates._aim(SPECIES[row["key"]], row) for row in basis]
    days = rates._middle_days(aims, np.array([fitted[aim.species.key].rate / WELL_KEPT for aim in aims]))
    for row, found in zip(basis, days, strict=True):
        middle = np.sqrt(float(row["days_min"]) * float(row["days_max"]))
        assert found == pytest.approx(middle, rel=0.04), row["key"]


def test_the_basis_is_the_published_table():
    """AH-402 / FPL-GTR-117 / Wood Handbook ch. 13 (recalled), by the row that the source names."""
    with (PUBLISHED / "air_drying_times.csv").open(encoding="utf-8") as file:
        published = {row["species"]: (row["days_min"], row["days_max"]) for row in csv.DictReader(file)}
    compared = 0
    for row in rows("rate_basis"):
        name = row["source"].rsplit(": ", 1)[-1]
        if name in published:
            compared += 1
            assert (row["days_min"], row["days_max"]) == published[name]
            assert row["from_memory"] == "yes"
    assert compared == 33


def test_a_wood_without_figures_follows_its_relative(fitted):
    relatives = {row["key"]: row["relative"] for row in rows("rate_basis") if row["relative"]}
    assert len(relatives) == 33
    for key, relative in relatives.items():
        assert relative not in relatives
        assert fitted[key].rate == fitted[relative].rate
        assert fitted[key].rate_log_sd > fitted[relative].rate_log_sd
        assert SPECIES[relative].name in fitted[key].source.text


def test_the_climates_are_the_published_ones():
    for place in (SOUTH, NORTH):
        assert len(rates.outdoor_climate(place).temperature_c) == 12
    assert np.mean(rates.outdoor_climate(SOUTH).temperature_c) > np.mean(rates.outdoor_climate(NORTH).temperature_c) + 5


def test_a_place_without_a_published_climate_is_refused():
    with pytest.raises(KeyError, match="Atlantis"):
        rates.outdoor_climate("Atlantis")
