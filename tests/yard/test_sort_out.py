"""What a phone sent and the yard could not place is kept whole, shown with both sides, and settled by a person."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from tests.factories import PlaceFactory, StackFactory, TagFactory, UserFactory
from tests.yard.outbox import send
from yard.actions.stacks import use
from yard.models import Event, Reading, Receipt, Stack, tagcode

pytestmark = pytest.mark.django_db
VALUES = {"method": "pins", "values": "20 21", "wood_temperature_c": "12"}
WORDS = json.dumps([["Values", "20 21"], ["Wood temperature, °C", "12"]])


@pytest.fixture
def stack():
    return StackFactory(cut_on=timezone.localdate() - timedelta(days=60))


@pytest.fixture
def other():
    """Someone else of the yard, signed in."""
    client = Client()
    client.force_login(UserFactory(username="Runa"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def ago(**kwargs):
    """Headers of what was recorded so long ago on a phone with a right clock."""
    now = timezone.now()
    return {"X-Drystack-Taken-At": (now - timedelta(**kwargs)).isoformat(), "X-Drystack-Sent-At": now.isoformat()}


def read(client, code, values="20 21", key=None, **headers):
    return send(client, f"/stacks/{code}/readings/new/", {**VALUES, "values": values}, key, **headers)


def new_stack(species, place, **more):
    fields = {"species": species.pk, "thickness_mm": "27", "cut_on": "2025-04-03", "place": place.pk, "keep": "1"}
    fields |= {"rows": "2", "line-0-length": "4", "line-0-width": "150", "line-0-count": "30", "wood_part": "mixed"}
    return fields | {"target_pct": "8", "kiln_entry_pct": "20", "sticker_mm": "25"} | more


def settle(client, receipt, how, **fields):
    return client.post(f"/sort-out/{receipt.key}/", {"how": how, **fields})


def page_of(client, address="/sort-out/"):
    return " ".join(client.get(address).content.decode().replace("\u202f", "").split())


@pytest.fixture
def used(stack):
    use(stack=stack, for_what="the barn doors", by=None, at=timezone.now())
    return stack


def test_a_reading_of_a_stack_used_up_meanwhile_is_kept_whole(signed_in, user, used):
    key = uuid4()
    path = f"/stacks/{used.code}/readings/new/"
    answer = send(signed_in, path, {**VALUES, "outbox_words": WORDS}, key, **ago(hours=3))
    body = answer.json()
    assert (answer.status_code, body["receipt"], body["sort_out"]) == (200, str(key), True)
    assert body["location"] == f"/sort-out/{key}/"
    assert body["said"] == ["The stack was used up meanwhile. It is kept whole, to be sorted out."]
    receipt = Receipt.objects.get()
    assert (receipt.state, receipt.why, receipt.subject) == ("to_sort_out", "used", used.code)
    assert sorted(receipt.fields) == sorted([name, value] for name, value in VALUES.items())
    assert receipt.words == [["Values", "20 21"], ["Wood temperature, °C", "12"]]
    assert not Reading.objects.exists()


def test_sent_again_it_has_the_same_answer(signed_in, used):
    key = uuid4()
    first, second = (read(signed_in, used.code, key=key) for _time in range(2))
    assert first.json() == second.json()
    assert Receipt.objects.count() == 1


def test_the_words_for_people_do_not_make_it_another_form(signed_in, stack):
    key, path = uuid4(), f"/stacks/{stack.code}/readings/new/"
    first = send(signed_in, path, {**VALUES, "outbox_words": WORDS}, key)
    assert send(signed_in, path, VALUES, key).json() == first.json()


@pytest.mark.parametrize("words", ["", "no list", "[[1]]", "{}", '[["a", "b", "c"]]', "7"])
def test_words_that_are_none_leave_the_fields_to_be_shown(signed_in, used, words):
    send(signed_in, f"/stacks/{used.code}/readings/new/", {**VALUES, "outbox_words": words})
    receipt = Receipt.objects.get()
    assert receipt.words == []
    assert "20 21" in page_of(signed_in, receipt.get_absolute_url())


def test_someone_at_a_live_page_gets_the_ordinary_page(signed_in, used):
    path = f"/stacks/{used.code}/readings/new/"
    assert signed_in.post(path, VALUES).status_code == 404
    assert send(signed_in, path, VALUES, **{"X-Drystack-Outbox": "live"}).status_code == 404
    assert not Receipt.objects.exists()


def test_both_sides_are_shown(signed_in, user, other, used):
    send(signed_in, f"/stacks/{used.code}/readings/new/", {**VALUES, "outbox_words": WORDS}, **ago(hours=3))
    page = page_of(other, Receipt.objects.get().get_absolute_url())
    assert f"Recorded by {user.username}" in page
    assert "<dt>Values</dt><dd>20 21</dd>" in page
    assert "the barn doors" in page
    assert f'href="/stacks/{used.code}/use/"' in page, "it can be put back"
    assert f"{used.species.name} 27mm" in page.replace(" mm", "mm")
    listed = page_of(other)
    assert "The stack was used up meanwhile." in listed
    assert used.code in listed


def test_it_belongs_to_another_stack_as_its_sender_s_and_of_its_own_time(signed_in, user, other, used):
    read(signed_in, used.code, **ago(hours=3))
    receipt, right = Receipt.objects.get(), StackFactory(cut_on=used.cut_on)
    answer = settle(other, receipt, "belongs", code=right.code.lower())
    assert answer["Location"] == f"/stacks/{right.code}/"
    reading = Reading.objects.get()
    assert (reading.stack, reading.made_by) == (right, user)
    assert abs(reading.taken_at - receipt.taken_at) < timedelta(seconds=1)
    receipt.refresh_from_db()
    assert (receipt.state, receipt.settled_by.username, receipt.settled_code) == ("settled", "Runa", right.code)
    assert f"belongs to {right.code}" in page_of(signed_in)


def test_what_follows_on_the_same_tag_goes_with_it_in_the_order_it_was_recorded(signed_in, used):
    read(signed_in, used.code, "20 21", **ago(hours=3))
    send(signed_in, f"/stacks/{used.code}/note/", {"note": "wet end"}, **ago(hours=1))
    read(signed_in, used.code, "22 23", **ago(hours=2))
    leader = Receipt.objects.get(after=None)
    assert [one.path.split("/")[3] for one in leader.followers.order_by("taken_at")] == ["readings", "note"]
    assert "2 more things go with it." in page_of(signed_in)
    right = StackFactory(cut_on=used.cut_on)
    settle(signed_in, leader, "belongs", code=right.code)
    kinds = list(right.events.order_by("at").values_list("kind", flat=True))
    assert kinds == ["read", "read", "noted"]
    assert set(Receipt.objects.values_list("state", "settled_code")) == {("settled", right.code)}


def test_a_stack_put_back_takes_it_itself(signed_in, used):
    read(signed_in, used.code)
    receipt = Receipt.objects.get()
    refused = settle(signed_in, receipt, "belongs", code=used.code)
    assert refused.status_code == 422
    assert "The stack was used up meanwhile." in refused.content.decode()
    signed_in.post(f"/stacks/{used.code}/use/", {"put_back": "1"})
    settle(signed_in, receipt, "belongs", code=used.code)
    assert Reading.objects.get().stack == used


@pytest.mark.parametrize("code", ["", "ABC", "2222222222"])
def test_a_code_that_is_none_is_told_at_its_field_and_nothing_is_done(signed_in, used, code):
    read(signed_in, used.code)
    receipt = Receipt.objects.get()
    assert settle(signed_in, receipt, "belongs", code=code).status_code == 422
    receipt.refresh_from_db()
    assert receipt.state == "to_sort_out"


def test_a_code_that_the_yard_does_not_know_is_kept_and_settled_alike(signed_in, stack):
    read(signed_in, tagcode.new_code())
    receipt = Receipt.objects.get()
    assert receipt.why == "unknown"
    assert "No stack bears this tag." in page_of(signed_in, receipt.get_absolute_url())
    settle(signed_in, receipt, "belongs", code=stack.code)
    assert Reading.objects.get().stack == stack


def test_dropped_it_stays_listed_with_the_reason_and_what_went_with_it(signed_in, used):
    read(signed_in, used.code, **ago(hours=2))
    read(signed_in, used.code, "22", **ago(hours=1))
    leader = Receipt.objects.get(after=None)
    assert settle(signed_in, leader, "drop", reason="").status_code == 422
    settle(signed_in, leader, "drop", reason="the wrong tag was read")
    assert page_of(signed_in).count("dropped: the wrong tag was read") == 2
    assert not Reading.objects.exists()
    assert set(Receipt.objects.values_list("state", flat=True)) == {"settled"}


def test_it_is_settled_once(signed_in, used, stack):
    read(signed_in, used.code)
    receipt, right = Receipt.objects.get(), StackFactory(cut_on=used.cut_on)
    settle(signed_in, receipt, "belongs", code=right.code)
    again = settle(signed_in, receipt, "belongs", code=right.code)
    assert "Someone sorted this out already." in again.content.decode()
    assert Reading.objects.count() == 1


def test_a_way_that_is_none_changes_nothing(signed_in, used):
    read(signed_in, used.code)
    for how in ("", "burn", "same"):
        assert settle(signed_in, Receipt.objects.get(), how).status_code in (302, 422)
    assert Receipt.objects.get().state == "to_sort_out"


def test_photos_of_what_is_to_be_sorted_out_stay_on_the_phone(signed_in):
    code = tagcode.new_code()
    read(signed_in, code)
    leader = Receipt.objects.get()
    photo = SimpleUploadedFile("stack.jpg", b"\xff\xd8", content_type="image/jpeg")
    answer = send(signed_in, f"/stacks/{code}/photos/", {"photo": photo}, **{"X-Drystack-After": str(leader.key)})
    assert answer.status_code == 409
    assert "stays on this phone" in answer.json()["errors"][""][0]
    assert Receipt.objects.count() == 1


def test_someone_else_s_follow_no_leader_of_mine(signed_in, other):
    blank, place, species = TagFactory(), PlaceFactory(), StackFactory().species
    send(other, f"/stacks/new/?tag={blank.code}", new_stack(species, place))
    send(signed_in, f"/stacks/new/?tag={blank.code}", new_stack(species, place, thickness_mm="50"))
    read(other, blank.code)
    assert Reading.objects.get().stack == Stack.objects.get(code=blank.code)


def test_the_lists_take_the_same_queries_for_one_and_for_many(signed_in, used, django_assert_max_num_queries):
    for number in range(6):
        send(signed_in, f"/stacks/{tagcode.new_code()}/note/", {"note": f"{number}"})
    with django_assert_max_num_queries(12):
        signed_in.get("/sort-out/")
    assert Event.objects.filter(kind="noted").count() == 0


def test_the_sender_s_words_are_read_in_the_language_of_who_sorts_it_out(signed_in, used):
    words = json.dumps([["Holzfeuchte", "20 21"], ["Holztemperatur, °C", "12"], ["Verfahren", "mein Wort"]])
    send(signed_in, f"/stacks/{used.code}/readings/new/", {**VALUES, "outbox_words": words})
    receipt = Receipt.objects.get()
    signed_in.cookies["django_language"] = "sv"
    shown = signed_in.get(receipt.get_absolute_url()).context["words"]
    assert dict(shown) == {"Fuktkvot": "20 21", "Virkets temperatur, °C": "12", "Metod": "mein Wort"}
