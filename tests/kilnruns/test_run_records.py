"""Noting a visit to a running kiln: masses and meter values become readings, bad input is told at its field."""

from io import BytesIO
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image

from kilnruns.models import RunRecord
from tests.kilnruns.factories import charge_of, ready_stack
from yard.models import Method, Reading, SampleBoard

pytestmark = pytest.mark.django_db


def running(*stacks):
    charge = charge_of(*stacks)
    charge.started_at = timezone.now()
    charge.save()
    charge.stacks.update(loaded_at=timezone.now())
    return charge


def board_of(stack, label="A", dry_g=2000):
    return SampleBoard.objects.create(
        stack=stack, label=label, green_mass_g=3000, oven_dry_mass_g=dry_g, made_on=timezone.localdate()
    )


def note(browser, charge, **fields):
    return browser.post(f"/charges/{charge.pk}/records/new/", fields)


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def picture():
    out = BytesIO()
    Image.new("RGB", (40, 30), "tan").save(out, "PNG")
    return SimpleUploadedFile("kiln.png", out.getvalue(), "image/png")


def test_masses_become_readings_of_their_stacks_and_the_rest_is_kept(signed_in, user):
    first, second = ready_stack(), ready_stack()
    boards = board_of(first), board_of(first, "B"), board_of(second, "A", 1000)
    charge = running(first, second)
    fields = {f"mass_{board.pk}": mass for board, mass in zip(boards, ["2600", "2 500,0", "1200"], strict=True)}
    settings = {"dry_bulb_c": "48,5", "wet_bulb_c": "43", "vents_pct": "50", "fans": "running", "heater_steps": "1"}
    assert (
        note(signed_in, charge, **fields, **settings, meter_kwh="812.5", step="1", note="all well").status_code == 302
    )
    record = charge.records.get()
    assert (record.dry_bulb_c, record.wet_bulb_c, record.vents_pct, record.step) == (48.5, 43, 50, 1)
    assert (record.phase, record.fans, record.meter_kwh, record.made_by) == ("drying", "running", 812.5, user)
    kept = {reading.stack_id: reading for reading in record.readings.all()}
    assert kept[first.pk].method == Method.SAMPLE_BOARD
    assert kept[first.pk].corrected_pct == [30, 25]
    assert kept[second.pk].corrected_pct == [20]


def test_pins_in_warm_wood_are_corrected_by_the_noted_air(signed_in):
    stack = ready_stack()
    charge = running(stack)
    note(signed_in, charge, dry_bulb_c="48.9", **{f"pins_{stack.pk}": "18 18,0"})
    reading = charge.records.get().readings.get()
    assert (reading.method, reading.wood_temperature_c, reading.raw) == (Method.PINS, 48.9, [18, 18])
    assert reading.moisture_pct < 16, "James, FPL-GTR-6 fig. 5: 18 % at 48.9 °C is about 14 %"


@pytest.mark.parametrize(
    ("fields", "field", "hint"),
    [
        ({}, None, "Note at least one thing"),
        ({"wet_bulb_c": "40"}, "dry_bulb_c", "dry bulb is missing"),
        ({"dry_bulb_c": "40", "wet_bulb_c": "48"}, "wet_bulb_c", "swapped"),
        ({"dry_bulb_c": "40", "wet_bulb_c": "38", "humidity_pct": "80"}, "humidity_pct", "not both"),
        ({"dry_bulb_c": "warm"}, "dry_bulb_c", "number"),
        ({"heater_steps": "2"}, "heater_steps", "heater has 1"),
        ({"vents_pct": "33.5"}, "vents_pct", "whole number"),
        ({"step": "9"}, "step", "has 2 steps"),
        ({"step": "2", "phase": "cooling"}, "step", "of the drying alone"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_typed_is_lost(signed_in, fields, field, hint):
    charge = running()
    response = note(signed_in, charge, **fields)
    assert response.status_code == 422
    form = response.context["form"]
    assert hint in " ".join(form.errors[field or "__all__"])
    assert all(form[name].value() == value for name, value in fields.items())
    assert not RunRecord.objects.exists()


@pytest.mark.parametrize(("mass", "hint"), [("1900", "Lighter"), ("9000", "Too heavy")])
def test_a_mass_that_can_not_be_is_refused_and_no_reading_is_kept(signed_in, mass, hint):
    stack = ready_stack()
    board = board_of(stack)
    response = note(signed_in, running(stack), **{f"mass_{board.pk}": mass})
    assert response.status_code == 422
    assert hint in words(response)
    assert not Reading.objects.exists()


def test_meter_values_that_are_no_figures_are_told_and_stay(signed_in):
    stack = ready_stack()
    response = note(signed_in, running(stack), **{f"pins_{stack.pk}": "14 about 15"})
    assert response.status_code == 422
    assert response.context["form"][f"pins_{stack.pk}"].value() == "14 about 15"


def test_sent_twice_it_is_kept_once(signed_in):
    charge, key = running(), str(uuid4())
    for _time in range(2):
        assert note(signed_in, charge, note="belt sings", key=key).status_code == 302
    assert charge.records.count() == 1


def test_a_photo_is_kept_bare_with_the_record_or_alone(signed_in):
    charge = running()
    note(signed_in, charge, photo=picture())
    signed_in.post(f"/charges/{charge.pk}/photos/", {"photo": picture()})
    assert charge.records.count() == 2
    for record in charge.records.all():
        response = signed_in.get(f"/run-records/{record.pk}/photo/")
        assert Image.open(BytesIO(b"".join(response.streaming_content))).format == "JPEG"


def test_what_is_no_photo_is_told_at_the_photo(signed_in):
    response = note(signed_in, running(), photo=SimpleUploadedFile("x.png", b"no picture"), note="see")
    assert response.status_code == 422
    assert "photo" in response.context["form"].errors
    assert not RunRecord.objects.exists()


def test_nothing_is_noted_of_a_charge_that_is_not_running(signed_in):
    response = note(signed_in, charge_of(), note="early")
    assert response.status_code == 422
    assert "not in the kiln" in words(response)


def test_a_wrong_record_is_voided_with_its_readings_and_a_reason(signed_in):
    stack = ready_stack()
    board, charge = board_of(stack), running(stack)
    note(signed_in, charge, **{f"mass_{board.pk}": "2600"})
    record = charge.records.get()
    assert signed_in.post(f"/run-records/{record.pk}/void/", {"reason": ""}).status_code == 422
    assert signed_in.post(f"/run-records/{record.pk}/void/", {"reason": "Wrong board"}).status_code == 302
    assert not charge.records.valid().exists()
    assert stack.readings.get().void_reason == "Wrong board"
    assert "voided already" in words(signed_in.get(f"/run-records/{record.pk}/void/"))


def test_the_form_makes_the_same_queries_for_many_stacks(signed_in):

    counts = []
    for many in (1, 4):
        stacks = [ready_stack() for _one in range(many)]
        for stack in stacks:
            board_of(stack)
        address = f"/charges/{running(*stacks).pk}/records/new/"
        with CaptureQueriesContext(connection) as asked:
            assert signed_in.get(address).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]
