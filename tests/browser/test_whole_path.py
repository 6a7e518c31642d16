"""The main job end to end at phone size: tag sheet, new stack, reading, ready, plan, accept, load by scanning."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.utils import timezone
from playwright.sync_api import Page

from kilnruns.models import Charge, Kiln
from tests.browser.tags import addresses
from tests.factories import PlaceFactory, SpeciesFactory
from yard.models import PlaceKind, Reading, Stack

SUMMER_AIR = {"temperatures_c": [18.0] * 12, "humidities_pct": [60.0] * 12}


@pytest.fixture
def yard(owner: Any) -> None:
    """A shed with summer air all year, so that the test's answer hangs on no date, a spruce, and a small kiln."""
    SpeciesFactory(name="Testspruce", safe_rate_pct_per_day=15)
    PlaceFactory(name="Long shed", kind=PlaceKind.ROOFED_SHED, **SUMMER_AIR)
    Kiln.objects.create(
        place=PlaceFactory(name="Small kiln", kind=PlaceKind.KILN, temperatures_c=[], humidities_pct=[]),
        length_mm=4200,
        width_mm=1000,
        height_mm=700,
        longest_board_mm=4200,
        heater_kw=6,
    )


def blank_tags(page: Page, count: int, folder: Path) -> list[str]:
    """Ask for a sheet as a person would, and read the printed symbols with a decoder."""
    page.goto("/tags/")
    page.get_by_label("How many tags").fill(str(count))
    form = page.locator("form", has=page.get_by_role("button", name="Make the sheet"))
    fields = dict(form.evaluate("form => [...new FormData(form)].filter(([, value]) => typeof value === 'string')"))
    # What the button sends; headless Chromium has no viewer that would hand the PDF over.
    answer = page.request.post("/tags/sheet.pdf", form=fields, headers={"Referer": page.url})
    assert answer.headers["content-type"] == "application/pdf"
    found = addresses(answer.body(), folder)
    assert len(found) == count
    return [urlsplit(address).path for address in found]


def tag_stack(page: Page, tag: str, boards: int) -> Stack:
    """Open a blank tag's address and put a stack under it, sawn half a year ago."""
    page.goto(tag)
    page.get_by_label("Species").select_option(label="Testspruce")
    page.locator("[name=thickness_mm]").fill("27")
    page.locator("[name=cut_on]").fill((timezone.localdate() - timedelta(days=180)).isoformat())
    page.get_by_text("Long shed").click()
    page.get_by_label("Line 1, length").fill("4.1")
    page.get_by_label("Line 1, width").fill("160")
    page.get_by_label("Line 1, boards").fill(str(boards))
    page.get_by_text("m³").first.wait_for()
    page.get_by_role("button", name="Keep this stack").click()
    page.wait_for_url("**/stacks/*/")
    return Stack.objects.get(code=page.url.rstrip("/").split("/")[-1])


def record(page: Page, values: list[str]) -> None:
    """Three values on the keypad: taps alone, no keyboard."""
    page.get_by_role("link", name="Record a reading").click()
    for number, value in enumerate(values):
        if number:
            page.get_by_role("button", name="Next value").click()
        for digit in value:
            name = "Decimal sign" if digit == "." else digit
            page.get_by_role("button", name=name, exact=True).click()
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**/stacks/*/")


def plan_and_accept(page: Page, look: Callable[[Page, str], None]) -> Charge:
    page.goto("/kilns/")
    look(page, "kilns")
    page.get_by_role("button", name="Plan", exact=True).click()
    page.wait_for_url("**/plans/*/", timeout=60_000)
    look(page, "plan")
    page.locator("a.row", has_text="Small kiln").first.click()
    page.wait_for_url("**/proposals/*/")
    look(page, "proposal")
    page.get_by_role("button", name="Accept this charge").click()
    page.wait_for_url("**/charges/*/")
    look(page, "charge")
    return Charge.objects.get()


def test_from_tag_sheet_to_a_loaded_charge(
    signed_in: Page,
    yard: None,
    tmp_path: Path,
    accessible: Callable[[Page], None],
    keep_picture: Callable[[Page, str], None],
) -> None:
    page = signed_in

    def look(page: Page, name: str) -> None:
        accessible(page)
        keep_picture(page, name)

    tags = blank_tags(page, 2, tmp_path)
    stacks = [tag_stack(page, tag, boards=40) for tag in tags]
    for stack in stacks:
        page.goto(f"/t/{stack.code.lower()}/")
        record(page, ["15.2", "16", "15.8"])
    look(page, "stack")
    assert Reading.objects.count() == 2
    page.goto("/yard/")
    look(page, "yard")
    assert page.get_by_text("ready", exact=True).count() >= 2

    charge = plan_and_accept(page, look)
    page.goto("/yard/")
    assert page.get_by_text("Small kiln").count() >= 1

    page.goto(f"/charges/{charge.pk}/loading/")
    look(page, "loading")
    for item in charge.stacks.select_related("stack"):
        page.goto(f"/t/{item.stack.code}/")  # what the phone's own camera opens
        page.get_by_role("button", name="Check this stack in").click()
        page.wait_for_url("**/loading/")
    page.get_by_role("button", name="Close the door and start").click()
    page.wait_for_url(f"**/charges/{charge.pk}/")
    look(page, "running")
    charge.refresh_from_db()
    assert charge.state == "drying"
    assert all(item.stack.place.name == "Small kiln" for item in charge.stacks.select_related("stack__place"))

    unload(page, charge, look)


def unload(page: Page, charge: Charge, look: Callable[[Page, str], None]) -> None:
    page.goto(f"/charges/{charge.pk}/unloading/")
    look(page, "unloading")
    for item in charge.stacks.select_related("stack"):
        page.goto(f"/t/{item.stack.code}/")
        page.get_by_role("link", name="Check this stack out").click()
        page.get_by_label("Long shed").check()
        page.get_by_role("button", name="Check out").click()
        page.wait_for_url("**/unloading/")
    charge.refresh_from_db()
    assert charge.state == "done"
    assert Stack.objects.filter(kiln_dried_on=timezone.localdate()).count() == charge.stacks.count()
    page.goto("/")
    look(page, "today")
