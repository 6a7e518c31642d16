"""What was learned, on a phone: read, looked into, a stack left out and put back, some of it forgotten."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE
from tests.factories import PlaceFactory, SpeciesFactory, UserFactory
from tests.kilnruns.factories import KilnFactory
from tests.kilnruns.test_learned import run
from tests.yard.test_outlook_learning import finished
from yard import outlook


@pytest.fixture
def yard(live_server: Any) -> Any:
    """Three woods in two places and a kiln; one stack lies far from the rest. The odd one is returned."""
    shed, row = PlaceFactory(name="Long shed"), PlaceFactory(name="Open row", kind="open_yard")
    larch, oak = SpeciesFactory(name="European larch", key="larch"), SpeciesFactory(name="European oak", key="oak")
    for i in range(5):
        finished(larch, shed, deviation=0.2 + 0.05 * i, sd=0.15, used_at=datetime(2025, 9, 1 + i, tzinfo=UTC))
    finished(oak, row, deviation=-0.3), finished(oak, shed, deviation=0.02, used_at=None)
    kiln = KilnFactory(place__name="Small kiln")
    run(kiln, 8), run(kiln, 9)
    return finished(larch, shed, deviation=-1.9, sd=0.1)


@pytest.fixture
def page(chromium: Browser, live_server: Any, client: Any, yard: Any) -> Iterator[Page]:
    context = chromium.new_context(**PHONE, base_url=live_server.url, color_scheme="light")
    keep_signed_in(context, UserFactory(is_staff=True), client, live_server.url)
    yield context.new_page()
    context.close()


def test_a_stack_that_misleads_is_left_out_and_put_back(
    page: Page, yard: Any, looked_at: Callable[[Page, str], None]
) -> None:
    def look(name: str) -> None:
        looked_at(page, f"learned_{name}")

    page.goto("/setup/")
    page.get_by_role("link", name="What this yard has learned").click()
    look("overview")
    page.locator("summary", has_text="The runs").click()
    look("runs")
    page.get_by_role("link", name="European larch, Long shed").click()
    expect(page.get_by_text("far from the others", exact=True)).to_have_count(1)
    look("kind")
    page.locator(f"a[href='/learned/stacks/{yard.code}/']").click()
    look("leave_out")
    page.get_by_label("A wet pocket").check()
    page.get_by_role("button", name="Leave it out").click()
    expect(page.get_by_text("Left out. The forecasts follow")).to_be_visible()
    look("after")
    page.get_by_role("link", name="European larch, Long shed").click()
    look("kind_without")
    page.locator(f"a[href='/learned/stacks/{yard.code}/']").click()
    page.get_by_label("Why it counts after all").fill("It was right")
    look("put_back")
    page.get_by_role("button", name="Put it back").click()
    assert all(one.counts for one in outlook.knowledge().told)
    page.get_by_role("link", name="Forget some of it").click()
    page.get_by_role("button", name="Forget it").click()
    look("reset_refused")
    page.get_by_label("What shall be forgotten?").select_option(label="Long shed")
    page.get_by_label("Why", exact=True).fill("A new roof")
    page.get_by_role("button", name="Forget it").click()
    expect(page.get_by_text("Long shed: forgotten")).to_be_visible()
    look("forgotten")
    assert {str(one.place) for one in outlook.knowledge().counting} == {"Open row"}
