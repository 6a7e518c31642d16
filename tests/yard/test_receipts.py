"""Forms under a key: applied once, answered alike, refused without a trace."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.test import Client
from django.utils import timezone

from tests.factories import PlaceFactory, StackFactory, TagFactory, UserFactory
from tests.yard.outbox import send
from yard.models import Event, Reading, Receipt, Stack
from yard.receipts.refusals import refusals

pytestmark = pytest.mark.django_db
VALUES = {"method": "pins", "values": "20 21", "wood_temperature_c": "12"}


@pytest.fixture
def stack():
    return StackFactory(cut_on=timezone.localdate() - timedelta(days=60))


def reading_path(stack):
    return f"/stacks/{stack.code}/readings/new/"


def test_the_outbox_gets_a_receipt_in_place_of_the_redirect(signed_in, stack):
    key = uuid4()
    answer = send(signed_in, reading_path(stack), VALUES, key)
    assert answer.status_code == 200
    body = answer.json()
    assert body["receipt"] == str(key)
    assert body["location"] == f"/stacks/{stack.code}/"
    assert body["said"][0].startswith("Kept: ")
    assert len(answer.content) < 500


def test_the_same_sent_again_has_the_same_answer_and_no_second_effect(signed_in, stack):
    key = uuid4()
    first, second = (send(signed_in, reading_path(stack), VALUES, key) for _time in range(2))
    assert second.json() == first.json()
    assert Reading.objects.count() == 1
    assert Event.objects.filter(kind=Event.Kind.READ).count() == 1


def test_the_same_key_with_something_else_is_a_conflict(signed_in, stack):
    key = uuid4()
    send(signed_in, reading_path(stack), VALUES, key)
    for path, fields in [
        (reading_path(stack), {**VALUES, "values": "22"}),
        (reading_path(StackFactory(cut_on=stack.cut_on)), VALUES),
    ]:
        assert send(signed_in, path, fields, key).status_code == 409
    assert Reading.objects.count() == 1


def test_someone_else_s_key_is_a_conflict(signed_in, stack):
    key, other = uuid4(), Client()
    other.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
    send(signed_in, reading_path(stack), VALUES, key)
    assert send(other, reading_path(stack), VALUES, key).status_code == 409


def test_what_is_refused_is_told_by_field_and_leaves_no_receipt(signed_in, stack):
    key = uuid4()
    answer = send(signed_in, reading_path(stack), {**VALUES, "values": "twenty"}, key)
    assert answer.status_code == 422
    assert list(answer.json()["errors"]) == ["values"]
    assert not Receipt.objects.exists()
    assert send(signed_in, reading_path(stack), VALUES, key).status_code == 200, "mended, under the same key"


def test_a_session_that_ended_is_told_as_such(signed_in, stack):
    signed_in.logout()
    answer = send(signed_in, reading_path(stack), VALUES)
    assert answer.status_code == 401
    assert not Reading.objects.exists()


def test_a_wrong_token_is_told_without_a_page(user, stack):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    assert send(strict, reading_path(stack), VALUES).status_code == 403
    token = strict.get("/probe").json()["csrf"]
    assert send(strict, reading_path(stack), VALUES, **{"X-CSRFToken": token}).status_code == 200


def test_a_key_that_is_no_uuid_is_refused(signed_in, stack):
    headers = {"Idempotency-Key": "again", "X-Drystack-Outbox": "1"}
    assert signed_in.post(reading_path(stack), VALUES, headers=headers).status_code == 400
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("page", "fields"),
    [
        ("/stacks/{code}/readings/new/", VALUES),
        ("/stacks/{code}/move/", {}),
        ("/stacks/{code}/edit/", {}),
        ("/stacks/{code}/photos/", {}),
        ("/stacks/new/", {}),
    ],
)
def test_each_form_of_the_yard_bears_a_key(signed_in, stack, page, fields):
    PlaceFactory()
    assert b'name="key"' in signed_in.get(page.format(code=stack.code)).content


def test_a_double_tap_on_an_ordinary_form_keeps_one_and_says_so_again(signed_in, stack):
    form = {**VALUES, "key": str(uuid4())}
    answers = [signed_in.post(reading_path(stack), form) for _tap in range(2)]
    assert [answer.url for answer in answers] == [f"/stacks/{stack.code}/"] * 2
    assert Reading.objects.count() == 1
    assert any(str(said).startswith("Kept: ") for said in get_messages(answers[1].wsgi_request))


def test_going_back_and_typing_something_else_keeps_both(signed_in, stack):
    form = {**VALUES, "key": str(uuid4())}
    signed_in.post(reading_path(stack), form)
    signed_in.post(reading_path(stack), {**form, "values": "25"})
    assert Reading.objects.count() == 2


def test_messages_of_the_outbox_do_not_turn_up_on_the_next_page(signed_in, stack):
    send(signed_in, reading_path(stack), VALUES)
    assert "Kept: " not in signed_in.get("/yard/").content.decode()


def test_a_page_that_waits_for_the_answer_shows_the_message_itself(signed_in, stack):
    answer = send(signed_in, reading_path(stack), VALUES, **{"X-Drystack-Outbox": "live"})
    assert "Kept: " in signed_in.get(answer.json()["location"]).content.decode().replace("\u202f", " ")


def test_a_stack_on_a_blank_tag_is_made_once(signed_in, stack):
    tag, key = TagFactory(), uuid4()
    fields = {"species": stack.species_id, "thickness_mm": "27", "cut_on": "2025-04-03", "place": stack.place_id}
    fields |= {"rows": "2", "line-0-length": "4", "line-0-width": "150", "line-0-count": "30", "keep": "1"}
    fields |= {"wood_part": "mixed", "target_pct": "8", "kiln_entry_pct": "20", "sticker_mm": "25"}
    path = f"/stacks/new/?tag={tag.code}"
    first = send(signed_in, path, fields, key)
    assert first.status_code == 200, first.content
    assert send(signed_in, path, fields, key).json() == first.json()
    assert Stack.objects.filter(code=tag.code).count() == 1


def test_more_lines_for_the_tally_leave_no_receipt(signed_in, stack):
    answer = signed_in.post("/stacks/new/", {"more": "1", "rows": "1", "key": str(uuid4())})
    assert answer.status_code == 200
    assert not Receipt.objects.exists()


def at(moment):
    return moment.isoformat()


def test_a_reading_kept_hours_ago_has_its_own_time(signed_in, stack):
    now = timezone.now()
    headers = {"X-Drystack-Taken-At": at(now - timedelta(hours=3)), "X-Drystack-Sent-At": at(now)}
    send(signed_in, reading_path(stack), VALUES, **headers)
    reading = Reading.objects.get()
    assert abs(reading.taken_at - (now - timedelta(hours=3))) < timedelta(minutes=1)
    assert not {"clock_off", "clock_doubted"} & set(reading.notes)


@pytest.mark.parametrize(
    ("off", "note"),
    [
        (timedelta(minutes=10), None),
        (timedelta(hours=5), "clock_off"),
        (timedelta(hours=-5), "clock_off"),
        (timedelta(days=-3000), "clock_off"),
    ],
)
def test_a_clock_that_is_wrong_is_put_right_and_told_of(signed_in, stack, off, note):
    """The phone's clock is `off`; the reading waited two hours."""
    now = timezone.now()
    shown = now + off
    headers = {"X-Drystack-Taken-At": at(shown - timedelta(hours=2)), "X-Drystack-Sent-At": at(shown)}
    send(signed_in, reading_path(stack), VALUES, **headers)
    reading = Reading.objects.get()
    assert abs(reading.taken_at - (now - timedelta(hours=2))) < timedelta(minutes=1)
    assert ("clock_off" in reading.notes) == (note is not None)


@pytest.mark.parametrize("waited", [timedelta(days=-1), timedelta(days=4000)])
def test_a_clock_set_meanwhile_is_not_believed(signed_in, stack, waited):
    now = timezone.now()
    headers = {"X-Drystack-Taken-At": at(now - waited), "X-Drystack-Sent-At": at(now)}
    send(signed_in, reading_path(stack), VALUES, **headers)
    reading = Reading.objects.get()
    assert abs(reading.taken_at - now) < timedelta(minutes=1)
    assert "clock_doubted" in reading.notes


def test_times_that_are_none_are_no_times(signed_in, stack):
    send(
        signed_in, reading_path(stack), VALUES, **{"X-Drystack-Taken-At": "2025-13-40T99:00", "X-Drystack-Sent-At": ""}
    )
    assert abs(Reading.objects.get().taken_at - timezone.now()) < timedelta(minutes=1)


def test_refusals_are_read_off_the_page_by_field():
    page = """<ul class="form-errors"><li>All of it</li></ul><p class="error">Beside</p>
      <div class="field invalid"><div class="control"><input name="a"></div>
        <p class="error" id="x">Wrong <b>a</b></p></div>
      <div class="field"><input name="b"></div>
      <div class="tally-row"><input name="length_0"><input name="width_0"><p class="error">Row</p></div>"""
    assert refusals(page) == {"": ["All of it", "Beside"], "a": ["Wrong a"], "width_0": ["Row"]}


def test_boards_taken_off_by_a_double_tap_make_one_stack(signed_in):
    stack = StackFactory(lines=[(4000, 150, 10)])
    page = signed_in.get(f"/stacks/{stack.code}/split/")
    field = next(iter(page.context["form"].fields))
    tapped = {field: "4", "key": str(uuid4())}
    assert 'name="key"' in page.content.decode()
    first, second = (signed_in.post(f"/stacks/{stack.code}/split/", tapped) for _tap in range(2))
    assert first["Location"] == second["Location"]
    assert Stack.objects.count() == 2


@pytest.mark.parametrize(
    ("off", "words"),
    [
        (timedelta(hours=-5), "This phone's clock is 5 hours slow. The time was put right."),
        (timedelta(days=800), "This phone's clock is 2 years fast. The time was put right."),
        (timedelta(minutes=3), ""),
    ],
)
def test_the_one_with_the_wrong_clock_is_told(signed_in, stack, off, words):
    shown = timezone.now() + off
    headers = {"X-Drystack-Taken-At": at(shown - timedelta(hours=2)), "X-Drystack-Sent-At": at(shown)}
    answer = send(signed_in, reading_path(stack), VALUES, **headers)
    assert " ".join(answer.json()["said"][1:]).replace("\xa0", " ") == words
    page = signed_in.get(f"/stacks/{stack.code}/").content.decode().replace("&#x27;", "'").lower()
    assert ("the phone's clock was wrong; the time is put right by ours" in page) == bool(words)


def test_a_clock_set_meanwhile_is_told_too(signed_in, stack):
    now = timezone.now()
    headers = {"X-Drystack-Taken-At": at(now + timedelta(days=3)), "X-Drystack-Sent-At": at(now)}
    answer = send(signed_in, reading_path(stack), VALUES, **headers)
    assert answer.json()["said"][1] == "This phone's clock was changed meanwhile: it is written down as of now."


@pytest.mark.parametrize(
    ("off_days", "sawn_days_ago_by_the_phone", "sawn_days_ago"),
    [(-800, 0, 0), (-800, 30, 830), (-3, 0, 0), (0, 0, 0), (0, 5, 5), (800, 0, 0)],
)
def test_sawn_today_is_today_though_the_clock_is_years_wrong(
    signed_in, stack, off_days, sawn_days_ago_by_the_phone, sawn_days_ago
):
    now = timezone.now()
    shown = now + timedelta(days=off_days)
    sawn = shown.date() - timedelta(days=sawn_days_ago_by_the_phone)
    fields = {"species": stack.species_id, "thickness_mm": "27", "cut_on": sawn.isoformat(), "place": stack.place_id}
    fields |= {"rows": "1", "line-0-length": "4", "line-0-width": "150", "line-0-count": "30", "keep": "1"}
    fields |= {"wood_part": "mixed", "target_pct": "8", "kiln_entry_pct": "20", "sticker_mm": "25"}
    headers = {"X-Drystack-Taken-At": at(shown), "X-Drystack-Sent-At": at(shown)}
    assert send(signed_in, "/stacks/new/", fields, **headers).status_code == 200
    made = Stack.objects.exclude(pk=stack.pk).get()
    assert made.cut_on == now.date() - timedelta(days=sawn_days_ago)
