"""The calendar of kilns in a real browser: one to ten kilns, four to sixteen weeks, by keys, in daylight and dark."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.models import DayOff
from tests.browser.signing_in import sign_in
from tests.chromium import PHONE
from tests.effort import effort
from tests.factories import KilnPlaceFactory, SpeciesFactory, UserFactory
from tests.kilnruns.factories import (
    ClosureFactory,
    KilnFactory,
    PlanFactory,
    charge_of,
    days_from_today,
    laid_out,
    propose,
    ready_stack,
    today,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WIDE = {"viewport": {"width": 1200, "height": 800}}


def furnish(kilns, weeks):
    """A plan of so many weeks: in each kiln a run in hand, then one after another, a booking and two days off."""
    plan = PlanFactory(horizon_days=7 * weeks)
    woods = [ready_stack(SpeciesFactory(name=name)) for name in ("ash", "Scots pine", "sweet chestnut")]
    layout, begun = {}, timezone.now() - timedelta(days=5)
    for number in range(kilns):
        kiln = KilnFactory(place=KilnPlaceFactory(name=f"Kiln {number + 1}"))
        layout = layout or laid_out(kiln, {woods[0]: [[4000, 150, 4]]})
        band = {"days": 12 + number, "days_low": 8, "days_high": 18 + number, "layout": layout, "volume_m3": 2.4}
        charge_of(ready_stack(woods[0].species), kiln=kiln, start_on=days_from_today(-5), started_at=begun, **band)
        for begin in range(8 + number, 7 * weeks, 16 + number):
            shown = {"kiln": kiln, "plan": plan, "taken": {woods[begin % 3]: [[4000, 150, 4]]}, "layout": layout}
            propose(**shown, start_on=days_from_today(begin), days=5 + 9 * (begin % 2), volume_m3=3.1)
    ClosureFactory(kiln=kiln, first_day=days_from_today(20), last_day=days_from_today(24), reason="Lent")
    DayOff.objects.create(first_day=days_from_today(9), last_day=days_from_today(12), reason="Midsummer")
    return plan


@pytest.fixture
def look(chromium, live_server):
    """Opens a page of a signed-in owner on such a screen, in light or dark."""
    user, opened = UserFactory(is_staff=True), []

    def onto(screen, scheme="light"):
        context = chromium.new_context(**screen, base_url=live_server.url, color_scheme=scheme)
        opened.append(context)
        page = context.new_page()
        sign_in(page, user)
        return page

    yield onto
    for context in opened:
        context.close()


@pytest.mark.parametrize(("kilns", "weeks"), effort([(1, 4), (10, 16)], [(1, 4), (3, 8), (10, 16)]))
def test_the_calendar_is_fit_for_phone_and_desk(look, accessible, readable_in_the_dark, keep_picture, kilns, weeks):
    plan = furnish(kilns, weeks)
    for screen in (PHONE, WIDE):
        page = look(screen)
        for address in ("/kilns/", f"/plans/{plan.pk}/"):
            page.emulate_media(color_scheme="light")
            page.goto(address)
            for scheme, check in (("light", accessible), ("dark", readable_in_the_dark)):
                check(page)
                assert page.locator(".calendar svg a[href]").count() > kilns
                page.locator(".calendar").scroll_into_view_if_needed()
                name = f"calendar-{kilns}-{weeks}-{scheme}-{screen['viewport']['width']}{address.replace('/', '_')}"
                keep_picture(page, name)


def test_today_is_in_sight_and_a_bar_far_off_comes_into_it_by_keys(look):
    plan = furnish(3, 16)
    page = look(PHONE)
    page.goto(f"/plans/{plan.pk}/")
    box = page.get_by_role("region", name="Calendar of the kilns")
    line = box.locator("svg path.now").first.bounding_box()
    assert 0 <= line["x"] <= 360
    last = box.get_by_role("link").last
    leads_to = last.get_attribute("href")
    last.focus()
    placed = last.bounding_box()
    assert 0 <= placed["x"] < 360 and box.evaluate("box => box.scrollLeft") > 0
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{leads_to}")


def test_a_bar_is_high_enough_for_a_glove_and_leads_to_its_charge(look):
    furnish(1, 8)
    page = look(PHONE)
    page.goto("/kilns/")
    bar = page.locator(".calendar svg a[href^='/charges/']")
    assert bar.bounding_box()["height"] >= 48
    bar.click()
    page.wait_for_url("**/charges/*/")


def test_a_kiln_with_nothing_before_it_says_so(look, accessible, keep_picture):
    KilnFactory(place=KilnPlaceFactory(name="Kiln 1"))
    assert PlanFactory(first_day=today()).proposals.count() == 0
    page = look(PHONE)
    page.goto("/kilns/")
    assert page.get_by_text("Nothing takes the kilns in these weeks.").is_visible()
    accessible(page)
    keep_picture(page, "calendar-empty")
