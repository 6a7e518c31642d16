"""Readings are kept and voided, never edited."""

from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from tests.factories import KilnPlaceFactory, OutlookFactory, StackFactory, UserFactory
from yard import outlook
from yard.actions import readings
from yard.models import Event, Method, Outlook, Reading, SampleBoard

pytestmark = pytest.mark.django_db


def add(stack, **kwargs):
    given = {"method": Method.CAPACITANCE, "raw": [20, 24], "taken_at": datetime(2025, 6, 1, 9, tzinfo=UTC), **kwargs}
    return readings.add_reading(stack=stack, by=UserFactory(), **given)


def test_a_reading_keeps_raw_and_corrected_values_who_and_when_and_the_history():
    reading = add(StackFactory())
    assert (reading.raw, reading.corrected_pct, reading.moisture_pct) == ([20, 24], [20, 24], 22)
    event = Event.objects.get()
    assert (event.kind, event.by, event.at) == (Event.Kind.READ, reading.made_by, reading.taken_at)
    assert event.details["reading"] == reading.pk
    assert Outlook.objects.get().as_of == reading.taken_at.date()


def test_nothing_is_kept_of_what_no_wood_can_be():
    with pytest.raises(readings.ImpossibleReadingError):
        add(StackFactory(), method=Method.OVEN_DRY, raw=[[40, 50]])
    assert not Reading.objects.exists()
    assert not Event.objects.exists()


def test_a_sample_board_of_another_stack_is_refused():
    board = {"green_mass_g": 1800, "oven_dry_mass_g": 1000, "made_on": "2025-04-03"}
    SampleBoard.objects.create(stack=StackFactory(), label="A", **board)
    with pytest.raises(SampleBoard.DoesNotExist):
        add(StackFactory(), method=Method.SAMPLE_BOARD, raw=[1300], sample_labels=["A"])


def test_a_reading_in_the_kiln_is_kept_and_leaves_the_yards_forecast():
    before = OutlookFactory(stack__place=KilnPlaceFactory())
    add(before.stack)
    assert Reading.objects.count() == 1
    assert Outlook.objects.get().made_at == before.made_at


def test_a_failing_forecast_loses_no_reading(monkeypatch):
    def fail(stacks):
        raise RuntimeError("the model is out of order")

    monkeypatch.setattr(outlook, "refresh", fail)
    with pytest.raises(RuntimeError):
        add(StackFactory())
    assert Reading.objects.count() == 1


def test_voiding_keeps_the_row_and_says_who_when_and_why():
    reading, by, at = add(StackFactory()), UserFactory(), timezone.now()
    readings.void_reading(reading=reading, reason="Mistyped", by=by, at=at)
    kept = Reading.objects.get()
    assert (kept.moisture_pct, kept.voided_at, kept.voided_by, kept.void_reason) == (22, at, by, "Mistyped")
    assert Event.objects.first().details["reason"] == "Mistyped"
    with pytest.raises(ValidationError):
        readings.void_reading(reading=reading, reason="again", by=by, at=at)
