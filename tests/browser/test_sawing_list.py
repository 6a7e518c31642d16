"""The sawing list at the saw: ticked on the phone, printed on one page, a line taken by a blank tag."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE
from tests.factories import PlaceFactory, SpeciesFactory, TagFactory, UserFactory, want
from tests.kilnruns.factories import KilnFactory
from tests.kilnruns.printed import pages, smallest_pt, words
from yard.models import Need, NeedLine, Reservation

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
A4, LETTER = {"format": "A4"}, {"format": "Letter"}
PRINTED_PT = 7.0


def furnish(lines: int) -> None:
    """So many sizes of one wood, which nothing in the yard serves."""
    wood = SpeciesFactory(name="European larch")
    for number in range(lines):
        need = want(species=wood, thickness_mm=20 + number, volume_m3=30, unit="pieces", name=f"Staircase {number + 1}",
                    wanted_by=timezone.localdate() + timedelta(days=500))  # fmt: skip
        NeedLine.objects.filter(need=need).update(width_mm=90, length_mm=2400)


@pytest.fixture
def page(chromium: Browser, live_server: Any, client: Any) -> Iterator[Page]:
    PlaceFactory(name="Long shed")
    KilnFactory()
    context = chromium.new_context(**PHONE, base_url=live_server.url)
    keep_signed_in(context, UserFactory(), client, live_server.url)
    yield context.new_page()
    context.close()


def test_ticks_stay_on_the_phone_as_long_as_the_same_is_to_be_sawn(
    page: Page, accessible: Callable[[Page], None], keep_picture: Callable[[Page, str], None]
) -> None:
    furnish(3)
    page.goto("/sawing/")
    page.get_by_role("checkbox").nth(1).check()
    page.goto("/needs/")
    page.goto("/sawing/")
    boxes = page.get_by_role("checkbox")
    assert [box.is_checked() for box in boxes.all()] == [False, True, False]
    accessible(page)
    keep_picture(page, "sawing_ticked")
    NeedLine.objects.filter(thickness_mm=21).update(quantity=40)
    page.reload()
    assert [box.is_checked() for box in boxes.all()] == [False, False, False]


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("lines", [1, 5, 12])
def test_it_prints_on_one_page_large_enough_to_read(page: Page, lines: int, paper: dict[str, Any]) -> None:
    furnish(lines)
    page.goto("/sawing/")
    pdf = page.pdf(**paper)
    assert pages(pdf) == 1
    assert smallest_pt(pdf) >= PRINTED_PT
    assert f"Staircase {lines}" in words(pdf) and "Saw it by" in words(pdf)


def test_a_blank_tag_takes_a_line_and_the_stack_is_kept_for_it(page: Page, accessible: Callable[[Page], None]) -> None:
    furnish(2)
    page.goto(f"/t/{TagFactory().code}")
    page.get_by_text("From the sawing list: 2 lines").click()
    accessible(page)
    page.get_by_role("link", name="Staircase 2").click()
    expect(page.get_by_label("Thickness")).to_have_value("26")  # (21 + 3) / (1 - .08 x 22 / 30) = 25.5 mm
    expect(page.locator("[name=line-0-count]")).to_have_value("30")
    page.get_by_role("button", name="Keep this stack").click()
    expect(page.get_by_text("It is reserved for Staircase 2.")).to_be_visible()
    assert Reservation.objects.get().line.need == Need.objects.get(name="Staircase 2")
    page.goto("/sawing/")
    expect(page.get_by_role("checkbox")).to_have_count(1)
