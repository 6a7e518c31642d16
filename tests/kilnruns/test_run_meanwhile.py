"""A run told by phones without reception: applied once and in order, and what does not fit goes to be sorted out."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from kilnruns.actions import closing
from kilnruns.actions.charges import call_off, load, take_back, unload
from kilnruns.actions.starting import start
from kilnruns.models import Charge, Degrade, FinalMeasurement, RunRecord, StressTest
from tests.factories import PlaceFactory, UserFactory
from tests.kilnruns.factories import charge_of, ready_stack
from tests.yard.outbox import send
from yard.models import Reading, Receipt, SampleBoard
from yard.models.tagcode import shown

pytestmark = pytest.mark.django_db
VISIT = {"dry_bulb_c": "48", "wet_bulb_c": "43"}


def ago(**kwargs):
    """Headers of what was recorded so long ago on a phone with a right clock."""
    now = timezone.now()
    return {"X-Drystack-Taken-At": (now - timedelta(**kwargs)).isoformat(), "X-Drystack-Sent-At": now.isoformat()}


def said(answer):
    assert answer.status_code == 200, answer.content
    return " ".join(answer.json()["said"]).replace("\u202f", " ")


def put_off(answer):
    """What is to be sorted out of an answer, and its page as people see it."""
    assert answer.json().get("sort_out"), answer.content
    return Receipt.objects.get(key=answer.json()["receipt"])


def page_of(client, receipt):
    return " ".join(client.get(receipt.get_absolute_url()).content.decode().replace("\u202f", " ").split())


def settle(client, receipt, how, **fields):
    return client.post(receipt.get_absolute_url(), {"how": how, **fields})


@pytest.fixture
def charge():
    """Two stacks of two, one of them in since six hours ago."""
    one, other = ready_stack(), ready_stack()
    made = charge_of(one, other)
    load(charge=made, stack=one, by=None, at=timezone.now() - timedelta(hours=6))
    return made


@pytest.fixture
def run(charge):
    start(charge=charge, by=None, at=timezone.now() - timedelta(hours=5))
    return charge


def inside(charge):
    return {"inside": [item.stack.code for item in charge.stacks.all() if item.loaded_at]}


def begin(client, charge, fields=None, key=None, **headers):
    fields = inside(charge) if fields is None else fields
    return send(client, f"/charges/{charge.pk}/start/", fields, key, **headers)


def stack_in(charge):
    return charge.stacks.filter(loaded_at__isnull=False).get().stack


def measure(client, charge, **headers):
    fields = {"method": "pins", "values": "8 8.5 7.9", "wood_temperature_c": "25"}
    return send(client, f"/charges/{charge.pk}/closing/{stack_in(charge).code}/", fields, **headers)


def test_a_start_told_hours_later_is_of_its_time_and_applied_once(signed_in, charge):
    key, headers = uuid4(), ago(hours=3)
    assert "Started" in said(begin(signed_in, charge, key=key, **headers))
    assert "Started" in said(begin(signed_in, charge, key=key, fields=inside(charge), **headers))
    charge.refresh_from_db()
    assert abs(charge.started_at - (timezone.now() - timedelta(hours=3))) < timedelta(minutes=1)
    assert charge.stacks.count() == 1, "what was left outside is free again"


def test_a_start_that_another_phone_told_too_needs_no_mending(signed_in, run):
    assert "that counts" in said(begin(signed_in, run, **ago(hours=1)))
    assert "earlier start counts" in said(begin(signed_in, run, **ago(hours=5, minutes=30)))
    run.refresh_from_db()
    assert abs(run.started_at - (timezone.now() - timedelta(hours=5, minutes=30))) < timedelta(minutes=1)


def test_a_start_without_a_stack_that_stands_in_the_kiln_is_sorted_out(signed_in, charge):
    lacking = charge.stacks.get(loaded_at=None).stack
    fields = {"inside": [stack_in(charge).code, lacking.code]}
    receipt = put_off(begin(signed_in, charge, fields, **ago(hours=1)))
    page = page_of(signed_in, receipt)
    assert "Start of the run" in page and shown(lacking.code).replace("\u202f", " ") in page
    assert "the yard does not know it to be in" in page
    assert "Not started" in page and "Not checked in" in page
    load(charge=charge, stack=lacking, by=None, at=timezone.now())
    answer = settle(signed_in, receipt, "as_sent")
    assert answer["Location"] == f"/charges/{charge.pk}/"
    charge.refresh_from_db()
    assert charge.state == "drying"
    assert abs(charge.started_at - (timezone.now() - timedelta(hours=1))) < timedelta(minutes=1)
    assert charge.stacks.count() == 2
    assert "Go where it went" in page_of(signed_in, receipt)


def test_what_was_noted_after_a_start_goes_with_it_in_order(signed_in, charge):
    """The visit, the measurement and the test arrive while the start waits; one more comes when it is settled."""
    lacking, inside_code = charge.stacks.get(loaded_at=None).stack, stack_in(charge).code
    first = begin(signed_in, charge, {"inside": [inside_code, lacking.code]}, **ago(hours=3))
    leader = put_off(first)
    after = {"X-Drystack-After": str(leader.key)}
    visit, test = uuid4(), uuid4()
    send(signed_in, f"/charges/{charge.pk}/records/new/", VISIT, visit, **after, **ago(hours=2))
    cut = {"kind": "prong", "stack": inside_code, "prong_mm": "90", "fresh_mm": "20"}
    send(signed_in, f"/charges/{charge.pk}/stress/?kind=prong", cut, test, **after, **ago(hours=2))
    headers = {"X-Drystack-After": str(test)} | ago(hours=1)
    assert (
        put_off(send(signed_in, f"/charges/{charge.pk}/stress/{test}/", {"rested_mm": "19"}, **headers)).after == leader
    )
    assert put_off(measure(signed_in, charge, **after, **ago(hours=1))).why == "follows"
    assert not RunRecord.objects.exists() and not Reading.objects.exists()
    load(charge=charge, stack=lacking, by=None, at=timezone.now() - timedelta(hours=4))
    settle(signed_in, leader, "as_sent")
    assert not Receipt.objects.to_sort_out().exists()
    assert RunRecord.objects.get().dry_bulb_c == 48
    assert FinalMeasurement.objects.get().charge == charge
    kept = StressTest.objects.get()
    assert (kept.key, kept.fresh_mm, kept.rested_mm) == (test, 20, 19)
    assert kept.at < kept.rested_at
    late = send(signed_in, f"/charges/{charge.pk}/records/new/", VISIT, **after, **ago(minutes=5))
    assert "Kept" in said(late)
    assert RunRecord.objects.count() == 2


def test_what_followed_a_start_that_was_dropped_waits_for_a_person(signed_in, charge):
    lacking = charge.stacks.get(loaded_at=None).stack
    leader = put_off(begin(signed_in, charge, {"inside": [lacking.code]}, **ago(hours=3)))
    settle(signed_in, leader, "drop", reason="never started")
    after = {"X-Drystack-After": str(leader.key)}
    visit = put_off(send(signed_in, f"/charges/{charge.pk}/records/new/", VISIT, **after, **ago(hours=2)))
    page = page_of(signed_in, visit)
    assert "Take what was sent" in page and "It belongs to another stack" not in page
    assert settle(signed_in, visit, "as_sent").status_code == 422, "nothing is noted of a kiln that does not run"
    assert not RunRecord.objects.exists()


@pytest.mark.parametrize("fate", ["called off", "done", "empty"])
def test_a_start_of_what_is_no_longer_to_be_started_is_sorted_out(signed_in, charge, fate):
    fields, stack, now = inside(charge), stack_in(charge), timezone.now()
    if fate == "done":
        start(charge=charge, by=None, at=now - timedelta(hours=5))
        charge.refresh_from_db()
        unload(charge=charge, stack=stack, place=PlaceFactory(), by=None, at=now - timedelta(hours=4))
    else:
        take_back(charge=charge, stack=stack, by=None, at=now - timedelta(hours=5))
    if fate == "called off":
        call_off(charge=Charge.objects.get(pk=charge.pk), by=None, at=now - timedelta(hours=4))
    receipt = put_off(begin(signed_in, charge, fields, **ago(hours=1)))
    assert receipt.why == "refused"
    told = {
        "called off": "This charge was called off",
        "done": "unloaded already",
        "empty": "does not know it to be in",
    }
    assert told[fate] in page_of(signed_in, receipt) or "at least one stack" in page_of(signed_in, receipt)


def test_a_visit_from_before_the_unloading_is_taken_whole_though_it_comes_after(signed_in, run):
    stack = stack_in(run)
    board = SampleBoard.objects.create(
        stack=stack, label="A", green_mass_g=1600, oven_dry_mass_g=1000, made_on=timezone.localdate()
    )
    run.refresh_from_db()
    unload(charge=run, stack=stack, place=PlaceFactory(), by=None, at=timezone.now() - timedelta(hours=1))
    path, fields = f"/charges/{run.pk}/records/new/", {**VISIT, f"mass_{board.pk}": "1100"}
    assert "Kept" in said(send(signed_in, path, fields, **ago(hours=2)))
    assert Reading.objects.get().raw == [1100.0]
    assert put_off(send(signed_in, path, VISIT)).why == "refused"


def test_a_mass_of_a_board_that_is_not_in_the_kiln_is_not_lost_without_a_word(signed_in, run):
    foreign = SampleBoard.objects.create(
        stack=ready_stack(), label="A", green_mass_g=1600, oven_dry_mass_g=1000, made_on=timezone.localdate()
    )
    fields = {**VISIT, f"mass_{foreign.pk}": "1100"}
    receipt = put_off(send(signed_in, f"/charges/{run.pk}/records/new/", fields))
    assert "is not in this charge" in page_of(signed_in, receipt)
    settle(signed_in, receipt, "as_sent")
    assert RunRecord.objects.get().dry_bulb_c == 48


def test_a_measurement_of_a_stack_that_stayed_outside_goes_to_the_one_it_belongs_to(signed_in, charge):
    outside = charge.stacks.get(loaded_at=None).stack
    start(charge=charge, by=None, at=timezone.now() - timedelta(hours=5))
    fields = {"method": "pins", "values": "8 8.5", "wood_temperature_c": "25"}
    receipt = put_off(send(signed_in, f"/charges/{charge.pk}/closing/{outside.code}/", fields, **ago(hours=1)))
    assert "is not in this charge" in page_of(signed_in, receipt)
    settle(signed_in, receipt, "belongs", code=stack_in(charge).code)
    assert Reading.objects.get().stack == stack_in(charge)


def test_a_measurement_before_the_start_is_sorted_out_and_taken_once_it_runs(signed_in, charge):
    receipt = put_off(measure(signed_in, charge, **ago(hours=1)))
    assert "start first" in page_of(signed_in, receipt)
    start(charge=charge, by=None, at=timezone.now() - timedelta(hours=5))
    settle(signed_in, receipt, "as_sent")
    assert FinalMeasurement.objects.get().reading.stack == stack_in(charge)


def test_impossible_figures_stay_on_the_phone_to_be_mended(signed_in, run):
    fields = {"method": "pins", "values": "8 8.5", "core": "9", "shell": ""}
    answer = send(signed_in, f"/charges/{run.pk}/closing/{stack_in(run).code}/", fields)
    assert answer.status_code == 422
    assert not Receipt.objects.exists()


@pytest.fixture
def prongs(run):
    item = run.stacks.select_related("stack").get()
    sizes = {"prong_mm": 90.0, "fresh_mm": 20.0, "rested_mm": None, "note": ""}
    run.refresh_from_db()
    item.charge = run
    return closing.keep_stress_test(item=item, kind="prong", sizes=sizes, by=None, at=timezone.now())


def test_two_that_look_again_at_one_test_with_one_figure_agree(signed_in, prongs):
    path = f"/charges/stress-tests/{prongs.pk}/"
    for _twice in range(2):
        assert "Kept" in said(send(signed_in, path, {"rested_mm": "18.5"}))
    prongs.refresh_from_db()
    assert prongs.rested_mm == 18.5


def test_two_that_saw_different_figures_are_sorted_out(signed_in, prongs):
    path = f"/charges/stress-tests/{prongs.pk}/"
    send(signed_in, path, {"rested_mm": "18.5"})
    receipt = put_off(send(signed_in, path, {"rested_mm": "16"}))
    prongs.refresh_from_db()
    assert (receipt.why, prongs.rested_mm) == ("changed", 18.5)
    assert "Running since" in page_of(signed_in, receipt)
    settle(signed_in, receipt, "as_sent")
    prongs.refresh_from_db()
    assert prongs.rested_mm == 16


def test_a_second_look_at_a_test_taken_out_is_sorted_out(signed_in, prongs):
    closing.void_stress_test(test=prongs, by=None, at=timezone.now())
    receipt = put_off(send(signed_in, f"/charges/stress-tests/{prongs.pk}/", {"rested_mm": "16"}))
    assert receipt.why == "refused" and "taken out" in page_of(signed_in, receipt)


def test_a_second_look_at_a_test_that_never_came_is_sorted_out(signed_in, run):
    receipt = put_off(send(signed_in, f"/charges/{run.pk}/stress/{uuid4()}/", {"rested_mm": "16"}))
    assert "is not kept here" in page_of(signed_in, receipt)
    assert not StressTest.objects.exists()


def test_degrade_noted_before_another_s_says_that_the_later_counts(signed_in, run):
    runa, path = UserFactory(username="Runa"), f"/charges/{run.pk}/degrade/{stack_in(run).code}/"
    item = run.stacks.get()
    run.refresh_from_db()
    item.charge = run
    closing.keep_degrade(item=item, shares={"warp": 25.0}, by_volume=False, by=runa, at=timezone.now())
    told = said(send(signed_in, path, {"warp": "5", "stain": "0"}, **ago(hours=1)))
    assert "warp: Runa noted 25 % after that, which counts" in told
    assert Degrade.objects.count() == 3
    assert "after that" not in said(send(signed_in, path, {"warp": "10"}))


def test_two_that_weighed_the_same_sections_agree_or_are_sorted_out(signed_in):
    board = SampleBoard.objects.create(
        stack=ready_stack(), label="A", green_mass_g=1600, oven_dry_mass_g=1000, made_on=timezone.localdate(),
        section_masses_g=[[68.0, None]],
    )  # fmt: skip
    path, name = f"/stacks/{board.stack.code}/samples/", f"board{board.pk}-dry_1"
    assert "made good" in said(send(signed_in, path, {"board": board.pk, name: "40"}))
    assert "kept already" in said(send(signed_in, path, {"board": board.pk, name: "40.0"}))
    receipt = put_off(send(signed_in, path, {"board": board.pk, name: "42"}))
    board.refresh_from_db()
    assert (receipt.why, board.section_masses_g) == ("changed", [[68.0, 40.0]])
    settle(signed_in, receipt, "as_sent")
    board.refresh_from_db()
    assert board.section_masses_g == [[68.0, 42.0]]
