"""The door to the core: forecasts of stacks, kept and forgotten."""

from datetime import UTC, date, datetime, timedelta

import pytest

from drying.climate import Exposure
from drying.forecast import forecast
from tests.factories import (
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
)
from yard import outlook
from yard.models import Outlook, Stay
from yard.outlook import forecasts

pytestmark = pytest.mark.django_db

CUT = date(2025, 4, 3)


def noon(day):
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def what_the_core_is_given(stack):
    return forecasts._input(forecasts._with_history(type(stack).objects.filter(pk=stack.pk)).get())


def test_the_answer_of_the_core_is_what_is_kept():
    stack = ReadingFactory(taken_at=noon(date(2025, 5, 20)), raw=[31, 29, 30]).stack
    outlook.refresh([stack])
    answer = forecast([what_the_core_is_given(stack)])[0]
    kept = Outlook.objects.get()
    assert (kept.as_of, kept.ready_p10, kept.ready_p50, kept.ready_p90) == (
        date(2025, 5, 20),
        answer.p10,
        answer.p50,
        answer.p90,
    )
    assert kept.ready_p10 < kept.ready_p50 < kept.ready_p90
    day = kept.ready_p10
    assert kept.moisture_on(day) == pytest.approx(answer.moisture_on(day), abs=0.02)
    assert [list(pair) for pair in answer.probability] == [pytest.approx(pair, abs=1e-3) for pair in kept.chance]


def test_the_core_is_given_the_stack_its_wood_its_stays_and_its_valid_readings():
    species = SpeciesFactory(green_heartwood_pct=40, green_sapwood_pct=120, rate=0.3, permeability=3)
    stack = StackFactory(species=species, kiln_entry_pct=18, place=PlaceFactory(kind="open_yard"))
    shed = PlaceFactory(altitude_m=300)
    Stay.objects.create(stack=stack, place=shed, since=noon(date(2025, 6, 1)))
    kept = ReadingFactory(stack=stack, taken_at=noon(date(2025, 6, 20)), raw=[30, 34])
    ReadingFactory(stack=stack, voided_at=noon(CUT), void_reason="Mistyped")
    given = what_the_core_is_given(stack)
    assert (given.wood.rate, given.wood.permeability, given.wood.basic_density_kg_m3) == (0.3, 3, 400)
    assert (given.thickness_mm, given.start, given.target_pct) == (27, CUT, 18)
    assert given.initial_moisture_pct == 80  # midway between heartwood and sapwood
    assert [(stay.start, stay.exposure) for stay in given.stays] == [
        (CUT, Exposure.OPEN_YARD),
        (date(2025, 6, 1), Exposure.ROOFED_SHED),
    ]
    assert given.stays[1].climate.altitude_m == 300
    assert [(one.taken_on, one.moisture_pct, one.count) for one in given.readings] == [
        (date(2025, 6, 20), kept.moisture_pct, 2)
    ]


def test_a_measured_start_beats_the_books_and_a_guess_is_wider():
    measured = what_the_core_is_given(StackFactory(initial_moisture_pct=61))
    assert measured.initial_moisture_pct == 61
    unknown = SpeciesFactory(green_heartwood_pct=None, green_sapwood_pct=None)
    assert what_the_core_is_given(StackFactory(species=unknown)).initial_log_sd > measured.initial_log_sd


def test_a_visit_to_a_kiln_that_dried_nothing_counts_to_the_stay_before():
    stack = StackFactory()
    Stay.objects.create(stack=stack, place=KilnPlaceFactory(), since=noon(date(2025, 5, 1)))
    assert len(what_the_core_is_given(stack).stays) == 1


def test_surprising_readings_are_kept_by_their_key():
    stack = StackFactory()
    usual = ReadingFactory(stack=stack, method="oven_dry", taken_at=noon(CUT + timedelta(days=2)), corrected_pct=[75])
    odd = ReadingFactory(stack=stack, method="oven_dry", taken_at=noon(CUT + timedelta(days=9)), corrected_pct=[200])
    outlook.refresh([stack])
    unexpected = Outlook.objects.get().unexpected
    assert odd.pk in unexpected
    assert usual.pk not in unexpected


def test_a_stack_in_a_kiln_or_dried_keeps_its_last_and_one_without_climate_gets_none():
    in_kiln, dried = OutlookFactory(stack__place=KilnPlaceFactory()), OutlookFactory(stack__kiln_dried_on=CUT)
    bare = StackFactory(place=PlaceFactory(temperatures_c=[], humidities_pct=[]))
    before = {row.pk: row.made_at for row in Outlook.objects.all()}
    outlook.refresh([in_kiln.stack, dried.stack, bare])
    assert {row.pk: row.made_at for row in Outlook.objects.all()} == before


def test_what_is_missing_is_made_up_to_a_bound_and_the_rest_next_time():
    for _number in range(3):
        StackFactory()
    outlook.refresh_missing(2)
    assert Outlook.objects.count() == 2
    outlook.refresh_missing(2)
    assert Outlook.objects.count() == 3


def test_a_changed_place_or_species_forgets_its_own_stacks_only():
    moved_on, elsewhere = OutlookFactory(), OutlookFactory()
    old_place = PlaceFactory()
    Stay.objects.create(stack=moved_on.stack, place=old_place, since=noon(CUT))
    outlook.forget(place=old_place)
    assert list(Outlook.objects.all()) == [elsewhere]
    outlook.forget(species=SpeciesFactory())
    assert Outlook.objects.exists()
    outlook.forget(species=elsewhere.stack.species)
    assert not Outlook.objects.exists()


def test_daily_moisture_is_the_kept_curve_day_by_day():
    with_one, without = OutlookFactory().stack, StackFactory()
    daily = outlook.daily_moisture([with_one, without], date(2025, 6, 1), 30)
    assert list(daily) == [with_one.code]
    for ahead in (0, 14, 29):
        expected = with_one.outlook.moisture_on(date(2025, 6, 1) + timedelta(days=ahead))
        found = daily[with_one.code]
        assert (found.p10_pct[ahead], found.p50_pct[ahead], found.p90_pct[ahead]) == pytest.approx(expected)


def test_a_batch_takes_as_many_queries_for_three_stacks_as_for_thirty(django_assert_num_queries):
    few = [StackFactory() for _number in range(3)]
    many = [StackFactory() for _number in range(30)]
    for stacks in (few, many):
        # stacks, readings, stays, what places were, weather; five to learn from; saved between savepoints
        with django_assert_num_queries(14):
            outlook.refresh(stacks)
