"""A whole run where there is no reception: started, visited, measured, tested, looked at again; it all arrives once."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from kilnruns.actions.charges import load, take_back
from kilnruns.models import Charge, Degrade, FinalMeasurement, RunRecord, StressTest
from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.browser.test_offline_recording import back_in_reach
from tests.kilnruns.factories import charge_of, ready_stack
from yard.models import Reading, Receipt, SampleBoard, Stack

pytestmark = pytest.mark.service_worker

KEPT = "Kept on this phone. It is sent when there is reception."


@pytest.fixture
def page(phone_context: BrowserContext, live_server: Any, client: Any, owner: Any) -> Any:
    keep_signed_in(phone_context, owner, client, live_server.url)
    opened = phone_context.new_page()
    faults = faults_of(opened)
    yield opened
    # A refusal is an answer like others here: what is refused against its test's will stays waiting, and fails it.
    assert [fault for fault in faults if "status of 422" not in fault] == []


@pytest.fixture
def look(keep_picture: Any, accessible: Any) -> Any:
    """look(page, name): fit for a phone, in light and dark."""

    def see(page: Page, name: str) -> None:
        for scheme in ("dark", "light"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            keep_picture(page, f"{name}-{scheme}")
            accessible(page)

    return see


@pytest.fixture
def stack() -> Stack:
    return ready_stack(lines=[(4000, 150, 40)])


@pytest.fixture
def charge(stack: Stack) -> Charge:
    """To be loaded today: one stack, and one that will stay outside."""
    return charge_of(stack, ready_stack())


@pytest.fixture
def afield(page: Page, charge: Charge) -> Page:
    """Opened with reception at the house; there is none at the kiln."""
    page.goto("/")
    settle(page)
    out_of_reach(page)
    return page


def keep(page: Page, name: str = "Keep") -> None:
    page.get_by_role("button", name=name).locator("visible=true").first.click()
    expect(page.get_by_text(KEPT)).to_be_visible()


def check_in_and_start(page: Page, charge: Charge, stack: Stack) -> None:
    page.goto(f"/charges/{charge.pk}/loading/")
    page.locator(f"form:has(input[value='{stack.code}']) button").click()
    expect(page.get_by_text("1 of 2 in")).to_be_visible()
    page.get_by_role("button", name="Close the door and start").click()
    expect(page.get_by_text("Its start waits to be sent")).to_be_visible()


def test_a_run_is_started_closed_and_told_whole_without_reception(
    afield: Page, charge: Charge, stack: Stack, look: Any
) -> None:
    page, run = afield, f"/charges/{charge.pk}/"
    page.goto("/kilns/")
    expect(page.get_by_text("planned")).to_be_visible()
    page.goto(f"{run}loading/")
    page.locator(f"form:has(input[value='{stack.code}']) button").click()
    expect(page.get_by_text("1 of 2 in")).to_be_visible()
    look(page, "start-afield")
    page.get_by_role("button", name="Close the door and start").click()
    expect(page.get_by_text("Its start waits to be sent")).to_be_visible()
    expect(page.get_by_text("Day 1")).to_be_visible()
    look(page, "run-afield")

    page.get_by_role("link", name="Note what you see").click()
    expect(page.get_by_text("this goes after it")).to_be_visible()
    page.get_by_label(re.compile("^Dry bulb")).fill("48")
    page.get_by_label(re.compile("^Wet bulb")).fill("43")
    keep(page)

    page.goto(f"{run}closing/")
    look(page, "closing-afield")
    page.locator(f"a[href='{run}closing/{stack.code}/']").click()
    expect(page.get_by_text("8 boards", exact=True)).to_be_visible()
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("alert").filter(has_text="Boards")).to_be_visible()
    page.get_by_label(re.compile("^Boards")).fill("8 8.5 7.9")
    page.get_by_label(re.compile("^Core")).fill("9")
    page.get_by_label(re.compile("^Shell")).fill("7.5")
    look(page, "measure-afield")
    keep(page)

    page.goto(f"{run}degrade/{stack.code}/")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("alert").filter(has_text="Tap how much")).to_be_visible()
    page.locator("label", has=page.locator("[name=warp][value='5']")).click()
    page.locator("label", has=page.locator("[name=stain][value='0']")).click()
    look(page, "degrade-afield")
    keep(page)

    page.goto(f"{run}stress/")
    page.locator(f"#prong_{stack.code}").check()
    page.get_by_label(re.compile("^Length of the prongs")).fill("90")
    page.get_by_label(re.compile("^Tips apart, just cut")).fill("20")
    keep(page)
    page.get_by_role("link", name=re.compile("Look at the prongs again")).click()
    page.get_by_label(re.compile("^Tips apart now")).fill("19,5")
    look(page, "second-look-afield")
    keep(page)
    page.goto(run)
    look(page, "run-afield-full")

    waiting = sorted(kept(page)["outbox"], key=lambda record: record["order"])
    start = next(record for record in waiting if record["path"].endswith("/start/"))
    followers = [record for record in waiting if record["order"] > start["order"]]
    assert len(waiting) == 7 and len(followers) == 5
    assert [record["after"] for record in followers[:-1]] == [start["key"]] * 4
    assert followers[-1]["after"] == followers[-2]["key"]
    assert not Receipt.objects.exists()

    back_in_reach(page)
    charge.refresh_from_db()
    assert charge.state == "drying"
    assert [item.stack for item in charge.stacks.all()] == [stack]
    record, test = RunRecord.objects.get(), StressTest.objects.get()
    assert charge.started_at < record.at < test.at < test.rested_at
    assert (record.dry_bulb_c, record.wet_bulb_c) == (48, 43)
    measured = FinalMeasurement.objects.get()
    assert (measured.reading.raw, measured.pairs_raw) == ([8.0, 8.5, 7.9], [[9.0, 7.5]])
    assert {row.kind: row.share_pct for row in Degrade.objects.all()} == {"warp": 5.0, "stain": 0.0}
    assert (test.prong_mm, test.fresh_mm, test.rested_mm) == (90, 20, 19.5)
    assert Receipt.objects.exclude(why="").count() == 0 and Receipt.objects.count() == 7
    page.goto(f"{run}closing/")
    expect(page.get_by_text("3 boards,")).to_be_visible()
    look(page, "closing-online")


def test_a_start_that_does_not_fit_is_sorted_out_with_what_followed_it(
    afield: Page, charge: Charge, stack: Stack, owner: Any, look: Any
) -> None:
    """Somebody takes the stack back meanwhile: by the yard the kiln is empty."""
    page, run = afield, f"/charges/{charge.pk}/"
    check_in_and_start(page, charge, stack)
    page.get_by_role("link", name="Note what you see").click()
    page.get_by_label(re.compile("^Dry bulb")).fill("48")
    keep(page)
    other = charge.stacks.exclude(stack=stack).get().stack
    load(charge=charge, stack=other, by=None, at=timezone.now() + timedelta(seconds=30))
    back_in_reach(page)
    assert not RunRecord.objects.exists()
    page.goto("/sort-out/")
    page.get_by_role("link", name=re.compile("Start of the run")).click()
    expect(page.get_by_text("was checked in after the door was closed")).to_be_visible()
    expect(page.get_by_text("With it goes, in this order:")).to_be_visible()
    look(page, "start-to-sort-out")
    take_back(charge=charge, stack=other, by=None, at=timezone.now())
    page.get_by_role("button", name="Take what was sent").click()
    page.wait_for_url(f"**{run}")
    charge.refresh_from_db()
    assert charge.state == "drying"
    assert RunRecord.objects.get().dry_bulb_c == 48
    assert Receipt.objects.to_sort_out().count() == 0


def test_a_start_does_not_overtake_a_check_in_that_was_refused(afield: Page, charge: Charge, stack: Stack) -> None:
    page = afield
    check_in_and_start(page, charge, stack)
    running = charge_of(ready_stack(), kiln=charge.kiln, start_on=charge.start_on - timedelta(days=40))
    before = timezone.now() - timedelta(days=30)
    running.stacks.update(loaded_at=before)
    Charge.objects.filter(pk=running.pk).update(started_at=before)
    page.context.set_offline(False)
    page.goto("/waiting/")
    expect(page.get_by_text("not accepted", exact=True)).to_be_visible()
    expect(page.get_by_text("is mended or discarded").locator("visible=true")).to_have_count(1)
    in_order = sorted(kept(page)["outbox"], key=lambda record: record["order"])
    assert [record["state"] for record in in_order] == ["refused", "waiting"]
    charge.refresh_from_db()
    assert charge.started_at is None and charge.stacks.count() == 2


def test_a_known_test_is_looked_at_again_and_sections_are_weighed_without_reception(
    page: Page, stack: Stack, look: Any
) -> None:
    began = timezone.now() - timedelta(days=9)
    charge = charge_of(stack, started_at=began)
    charge.stacks.update(loaded_at=began)
    test = StressTest.objects.create(charge=charge, stack=stack, kind="prong", at=began, prong_mm=100, fresh_mm=30.5)
    board = SampleBoard.objects.create(
        stack=stack, label="1", green_mass_g=3000, oven_dry_mass_g=2000, made_on=began.date(),
        section_masses_g=[[68.0, None]],
    )  # fmt: skip
    page.goto("/")
    settle(page)
    out_of_reach(page)
    page.goto(f"/charges/stress-tests/{test.pk}/")
    expect(page.get_by_text(re.compile("tips 30.5.mm apart"))).to_be_visible()
    page.get_by_label(re.compile("^Tips apart now")).fill("30")
    keep(page)
    page.goto(f"/stacks/{stack.code}/samples/")
    expect(page.get_by_text("Wet it weighed 68 g.")).to_be_visible()
    look(page, "samples-afield")
    page.get_by_label(re.compile("^Section 1, oven-dry")).first.fill("40")
    keep(page, "Keep the oven-dry masses")
    page.goto(f"/stacks/{stack.code}/samples/")
    expect(page.locator("[name=label]")).to_have_value("2")
    page.get_by_label(re.compile("^Mass when cut")).fill("3100")
    page.locator("[name=wet_1]").fill("70")
    page.locator("[name=dry_1]").fill("44")
    keep(page, "Keep this board")
    page.goto(f"/stacks/{stack.code}/samples/")
    expect(page.locator("[name=label]")).to_have_value("3")
    back_in_reach(page)
    test.refresh_from_db()
    board.refresh_from_db()
    assert test.rested_mm == 30 and test.rested_at
    assert board.section_masses_g == [[68.0, 40.0]]
    assert SampleBoard.objects.get(label="2").green_mass_g == 3100
    assert not Reading.objects.exists()
