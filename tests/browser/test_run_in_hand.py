"""A kiln is visited twice, once with reception and once without: both visits arrive once, and the card goes on."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from kilnruns.models import Charge, RunRecord, StressTest
from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.kilnruns.factories import charge_of, ready_stack
from yard.models import Reading, SampleBoard

pytestmark = pytest.mark.service_worker

OVEN_DRY_G = 1000


@pytest.fixture
def charge() -> Charge:
    """Closed two days ago, with one sample board that was never weighed since."""
    stack = ready_stack()
    board = {"label": "A", "green_mass_g": 1600, "oven_dry_mass_g": OVEN_DRY_G, "made_on": timezone.localdate()}
    SampleBoard.objects.create(stack=stack, **board)
    started = timezone.now() - timedelta(days=2)
    made = charge_of(stack, started_at=started)
    made.stacks.update(loaded_at=started)
    return made


@pytest.fixture
def page(phone_context: BrowserContext, live_server: Any, client: Any, owner: Any) -> Any:
    keep_signed_in(phone_context, owner, client, live_server.url)
    opened = phone_context.new_page()
    faults = faults_of(opened)
    yield opened
    assert faults == []


def card(page: Page) -> Any:
    return page.locator("section.say .verb").first


def board_a(page: Page) -> Any:
    return page.get_by_label(re.compile("^Board A"))


def test_a_visit_with_reception_and_one_without_arrive_once_and_the_card_goes_on(
    page: Page, charge: Charge, accessible: Any, keep_picture: Any
) -> None:
    run_page, form = f"/charges/{charge.pk}/", f"/charges/{charge.pk}/records/new/"
    page.goto(run_page)
    settle(page)
    expect(card(page)).to_have_text("Weigh the sample boards now")
    page.get_by_role("link", name="Note what you see").click()
    page.wait_for_url(f"**{form}")
    accessible(page)
    board_a(page).fill("1400")
    page.get_by_label(re.compile("^Dry bulb")).fill("47")
    page.get_by_label(re.compile("^Wet bulb")).fill("44")
    page.get_by_label("Set to").select_option("warm_up")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**{run_page}")
    expect(card(page)).to_have_text("Go to step 1: 48 °C, wet bulb 43 °C")
    accessible(page)
    keep_picture(page, "run-in-hand")

    page.goto("/")
    settle(page)
    out_of_reach(page)
    page.goto(form)
    expect(page.get_by_role("heading", name="Note what you see")).to_be_visible()
    board_a(page).fill("1390")
    page.get_by_label("Set to").select_option("drying")
    page.get_by_label("Step of the schedule").fill("1")
    page.get_by_label("Note", exact=True).fill("Fan belt sings")
    accessible(page)
    keep_picture(page, "run-record-offline")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Kept on this phone. It is sent when there is reception.")).to_be_visible()
    assert RunRecord.objects.count() == 1

    page.context.set_offline(False)
    page.goto("/waiting/")
    wait_until_sent(page)
    page.goto(run_page)
    expect(card(page)).to_have_text("Nothing to change now")
    expect(page.get_by_text("Fan belt sings")).to_be_visible()
    accessible(page)
    first, second = RunRecord.objects.order_by("at", "pk")
    assert (first.phase, first.dry_bulb_c, first.wet_bulb_c) == ("warm_up", 47, 44)
    assert (second.phase, second.step, second.note) == ("drying", 1, "Fan belt sings")
    assert [one.raw for one in Reading.objects.order_by("taken_at", "pk")] == [[1400.0], [1390.0]]


def wait_until_sent(page: Page) -> None:
    for _turn in range(150):
        found = kept(page)
        if found and not found["outbox"]:
            return
        page.wait_for_timeout(100)
    raise AssertionError(kept(page))


def test_pins_and_a_stress_test_are_noted_without_reception(
    page: Page, charge: Charge, accessible: Any, keep_picture: Any
) -> None:
    stress = f"/charges/{charge.pk}/stress/"
    stack = charge.stacks.get().stack
    page.goto("/")
    settle(page)
    out_of_reach(page)
    page.goto(f"/charges/{charge.pk}/records/new/")
    page.get_by_text("Pins in the wood").click()
    page.locator(f"[name=pins_{stack.pk}]").fill("21 22.5")
    accessible(page)
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Kept on this phone. It is sent when there is reception.")).to_be_visible()

    page.goto(stress)
    expect(page.get_by_role("heading", name="Test for stress")).to_be_visible()
    page.get_by_role("button", name="Keep").first.click()
    expect(page.get_by_role("alert").filter(has_text="From which stack")).to_be_visible()
    page.locator("[name=stack]").first.check()
    page.get_by_label(re.compile("^Length of the prongs")).fill("90")
    page.get_by_label(re.compile("^Tips apart, just cut")).fill("20")
    accessible(page)
    keep_picture(page, "stress-test-offline")
    page.get_by_role("button", name="Keep").first.click()
    expect(page.get_by_text("Kept on this phone. It is sent when there is reception.")).to_be_visible()
    assert not StressTest.objects.exists()

    page.context.set_offline(False)
    page.goto("/waiting/")
    wait_until_sent(page)
    test = StressTest.objects.get()
    assert (test.kind, test.stack, test.prong_mm, test.fresh_mm, test.rested_mm) == ("prong", stack, 90, 20, None)
    assert [one.raw for one in Reading.objects.filter(method="pins")] == [[21.0, 22.5]]
