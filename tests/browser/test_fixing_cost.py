"""What a fixing costs as a person sees it: the page fetches the figure; without scripts, a link does."""

from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from kilnruns.models import Fixing, Reckoning
from tests.browser.signing_in import sign_in
from tests.chromium import PHONE
from tests.factories import UserFactory
from tests.kilnruns.factories import KilnFactory, PlanFactory, ready_stack

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
FOUND = {"eur": 37.2, "with_it": 800.0, "without": 837.2, "cut_by_clock": False, "unmet": []}


@pytest.fixture
def fixing(live_server: Any) -> Fixing:
    KilnFactory()
    PlanFactory()
    now = timezone.now()
    one = Fixing.objects.create(kind="hold", stack=ready_stack(), made_at=now)
    Reckoning.objects.create(fixing=one, worker="one", tries=1, beat_at=now)
    return one


def opened(chromium: Browser, live_server: Any, fixing: Fixing, **kwargs: Any) -> Page:
    page = chromium.new_context(base_url=live_server.url, service_workers="block", **PHONE, **kwargs).new_page()
    sign_in(page, UserFactory())
    page.goto(f"/fixings/{fixing.pk}/")
    expect(page.locator("main")).to_contain_text("Reckoning what it costs")
    return page


def found(fixing: Fixing) -> None:
    now = timezone.now()
    Reckoning.objects.update(finished_at=now, found=FOUND)
    Fixing.objects.update(cost=FOUND["eur"], counted_at=now)


def test_the_figure_comes_by_itself(
    chromium: Browser, live_server: Any, fixing: Fixing, accessible: Any, keep_picture: Any
) -> None:
    page = opened(chromium, live_server, fixing)
    accessible(page)
    keep_picture(page, "fixing-reckoning")
    found(fixing)
    expect(page.locator("main .figure.big")).to_have_text("37 EUR", timeout=10_000)
    expect(page.locator("main .band")).to_contain_text("800 with it, 837 without it")
    expect(page.locator("#messages[role=status]")).to_contain_text("37 EUR is what it costs")
    accessible(page)
    keep_picture(page, "fixing-reckoned")
    page.context.close()


def test_without_scripts_a_link_looks_again(chromium: Browser, live_server: Any, fixing: Fixing) -> None:
    page = opened(chromium, live_server, fixing, java_script_enabled=False)
    found(fixing)
    page.get_by_role("link", name="Look again").click()
    expect(page.locator("main .figure.big")).to_have_text("37 EUR")
    page.context.close()
