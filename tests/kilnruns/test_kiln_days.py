"""How long wood that is yet to be sawn will take in the kiln."""

from datetime import date
from math import ceil, exp, floor

import pytest

from drying.heat import RunRequest, run_tables
from kilnruns.planning.chambers import TURNAROUND_DAYS, chamber
from kilnruns.planning.durations import schedule_of
from kilnruns.planning.groups import AS_IN_THE_BOOK
from kilnruns.planning.kiln_days import kiln_days
from tests.factories import PlaceFactory, SpeciesFactory
from tests.kilnruns.factories import KilnFactory
from yard import outlook
from yard.models import Stack

pytestmark = pytest.mark.django_db
JULY, JANUARY = date(2027, 7, 10), date(2027, 1, 10)


def ask(wood, thickness=27, to_pct=8.0, about=JULY):
    return outlook.KilnAsk(wood, thickness, 20.0, to_pct, about)


def test_without_a_kiln_there_are_no_days():
    assert kiln_days([]) == []
    KilnFactory(retired=True)
    assert kiln_days([ask(SpeciesFactory())]) == [None]


def test_the_days_are_the_run_tables_of_that_season_with_the_band_of_plans():
    place, kiln, wood = PlaceFactory(), KilnFactory(), SpeciesFactory()
    [(low, middle, high)] = kiln_days([ask(wood)])
    stack = Stack(species=wood, thickness_mm=27, target_pct=8)
    request = RunRequest(chamber(kiln), outlook.wood(wood), 27, 8, schedule_of(stack, kiln, AS_IN_THE_BOOK),
                         place.temperatures_c[6], place.humidities_pct[6])  # fmt: skip
    [table] = run_tables([request])
    days, spread = float(table.days(20.0)), exp(0.35 * 1.2816)  # drying method §12: ln sd .35, one in ten
    assert middle == TURNAROUND_DAYS + ceil(days)
    assert (low, high) == (TURNAROUND_DAYS + floor(days / spread), TURNAROUND_DAYS + ceil(days * spread))


def test_thicker_and_drier_take_longer_and_the_quickest_kiln_counts():
    PlaceFactory()
    KilnFactory(heater_kw=3)
    wood = SpeciesFactory()
    thin, thick, damp = kiln_days([ask(wood), ask(wood, 50), ask(wood, to_pct=12)])
    assert damp < thin < thick
    KilnFactory(heater_kw=12, max_temperature_c=70)
    [quicker] = kiln_days([ask(wood)])
    assert quicker <= thin


def test_one_and_twenty_woods_take_the_same_queries(django_assert_num_queries):
    PlaceFactory()
    KilnFactory()
    woods = [SpeciesFactory() for _number in range(20)]
    kiln_days([ask(woods[0])])
    with django_assert_num_queries(6):
        kiln_days([ask(woods[0])])
    with django_assert_num_queries(6):
        kiln_days([ask(wood, about=about) for wood in woods for about in (JULY, JANUARY)])
