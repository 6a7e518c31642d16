"""A plan in work as a person sees it: it tells how far it is by itself, and without scripts by a link."""

from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from kilnruns.models import Planning
from tests.browser.signing_in import sign_in
from tests.chromium import PHONE
from tests.factories import UserFactory
from tests.kilnruns.factories import KilnFactory, PlanFactory, days_from_today

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def planning(live_server: Any) -> Planning:
    KilnFactory()
    now = timezone.now()
    begun = {"started_at": now, "beat_at": now, "worker": "one", "tries": 1}
    return Planning.objects.create(first_day=days_from_today(0), spent=0.2, value=80, bound=100, **begun)


def opened(chromium: Browser, live_server: Any, **kwargs: Any) -> Page:
    page = chromium.new_context(base_url=live_server.url, service_workers="block", **PHONE, **kwargs).new_page()
    sign_in(page, UserFactory())
    page.goto("/kilns/")
    return page


def told(planning: Planning, **kwargs: Any) -> None:
    Planning.objects.filter(pk=planning.pk).update(beat_at=timezone.now(), **kwargs)


def test_it_tells_how_far_it_is_until_the_plan_is_there(
    chromium: Browser, live_server: Any, planning: Planning
) -> None:
    page = opened(chromium, live_server)
    box = page.locator("#planning")
    expect(box).to_contain_text("so far 80")
    page.get_by_role("button", name="Cancel it").focus()
    told(planning, spent=0.6, value=91)
    expect(box).to_contain_text("so far 91", timeout=10_000)
    told(planning, plan=PlanFactory(), finished_at=timezone.now())
    expect(box).to_contain_text("The new plan is there", timeout=10_000)
    expect(page.get_by_role("status").filter(has_text="The new plan is there")).to_have_count(1)
    expect(box.get_by_role("link", name="Look at it")).to_be_focused()  # where the button was, through each swap
    box.get_by_role("link", name="Look at it").click()
    page.wait_for_url("**/plans/*/")
    page.context.close()


def test_it_is_cancelled_by_a_button(chromium: Browser, live_server: Any, planning: Planning) -> None:
    page = opened(chromium, live_server)
    page.get_by_role("button", name="Cancel it").click()
    expect(page.locator(".messages")).to_contain_text("The plan in force stays")
    planning.refresh_from_db()
    assert planning.state == "cancelled"
    page.context.close()


def test_without_scripts_a_link_looks_again(chromium: Browser, live_server: Any, planning: Planning) -> None:
    page = opened(chromium, live_server, java_script_enabled=False)
    told(planning, spent=0.6, value=91)
    page.get_by_role("link", name="Look again").click()
    expect(page.locator("#planning")).to_contain_text("so far 91")
    page.context.close()
