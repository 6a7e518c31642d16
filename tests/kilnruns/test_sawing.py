"""By when to saw: green wood is ready for a charge only after its own time outdoors."""

from datetime import timedelta

import pytest

from kilnruns.planning.sawing import Sawing
from tests.factories import PlaceFactory, SpeciesFactory
from tests.kilnruns.factories import days_from_today, ready_stack, today
from yard import outlook

pytestmark = pytest.mark.django_db


def day_of(told, name):
    return None if told[name] is None else outlook_day(told[name])


def outlook_day(iso):
    return type(today()).fromisoformat(iso)


@pytest.fixture
def stack(db):
    return ready_stack(SpeciesFactory(rate=0.35), place=PlaceFactory())


def test_the_last_day_to_saw_is_as_long_before_as_the_wood_takes(stack):
    by = days_from_today(300)
    told = Sawing(today()).told([stack], by)
    saw_by, ready = day_of(told, "saw_by"), day_of(told, "ready_on")
    assert told["thickness_mm"] == stack.thickness_mm and told["species"] == stack.species.name
    assert today() < ready
    months = outlook.tools.drying_times(
        stack.species,
        stack.place,
        thicknesses_mm=[stack.thickness_mm],
        target_pct=stack.kiln_entry_pct,
        today=today(),
    )[stack.thickness_mm]
    shortest, longest = (pick(one.figures["p50"] for one in months) for pick in (min, max))
    assert shortest - 1 <= (by - saw_by).days <= longest + 32  # a later day may be worse: the air turns
    assert shortest - 1 <= (ready - today()).days <= longest + 1


def test_a_day_that_is_too_near_has_no_day_to_saw(stack):
    told = Sawing(today()).told([stack], days_from_today(3))
    assert told["saw_by"] is None
    assert day_of(told, "ready_on") > days_from_today(3)


def test_sawn_on_the_day_told_it_is_ready_and_sawn_a_day_later_it_is_not(stack):
    sawing = Sawing(today())
    ready = day_of(sawing.told([stack], days_from_today(3)), "ready_on")
    assert day_of(sawing.told([stack], ready), "saw_by") >= today()
    assert sawing.told([stack], ready - timedelta(days=1))["saw_by"] is None


def test_the_forecast_is_asked_once_for_each_kind(stack, monkeypatch):
    asked = []
    real = outlook.tools.drying_times
    monkeypatch.setattr(outlook.tools, "drying_times", lambda *a, **k: asked.append(a) or real(*a, **k))
    sawing = Sawing(today())
    for ahead in (10, 100, 200):
        sawing.told([stack], days_from_today(ahead))
    assert len(asked) == 1


def test_without_a_climate_or_a_stack_nothing_is_said(db):
    bare = ready_stack(place=PlaceFactory(temperatures_c=[], humidities_pct=[]))
    assert Sawing(today()).told([bare], days_from_today(100)) == {}
    assert Sawing(today()).told([], days_from_today(100)) == {}
