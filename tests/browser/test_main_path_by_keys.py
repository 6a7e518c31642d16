"""The whole main path without a pointer, from the sign-in to a kiln that runs; each page as it is heard."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page

from kilnruns.models import Charge, Plan, RunRecord
from tests.browser.keys import Keys
from tests.factories import PASSWORD, KilnPlaceFactory, PlaceFactory, SpeciesFactory, TagFactory
from tests.kilnruns.factories import KilnFactory, charge_of, propose, ready_stack, tally
from yard.models import Reading, Stack
from yard.models.tagcode import shown


@pytest.fixture
def yard(owner: Any) -> list[Stack]:
    """Two stacks that are proposed for one charge."""
    ash, shed = SpeciesFactory(name="ash"), PlaceFactory(name="Long shed")
    PlaceFactory(name="Dry store", kind="closed_store")
    stacks = [ready_stack(species=ash, place=shed, lines=[(4000, 150, 20)]) for _n in range(2)]
    kiln = KilnFactory(place=KilnPlaceFactory(name="Small kiln"))
    propose(kiln, {stack: tally(stack) for stack in stacks})
    return stacks


@pytest.fixture
def running(yard: list[Stack]) -> Charge:
    """In another kiln, closed two days ago."""
    charge, started = charge_of(ready_stack()), timezone.now() - timedelta(days=2)
    charge.stacks.update(loaded_at=started)
    charge.started_at = started
    charge.save()
    return charge


@pytest.fixture
def keys(phone: Page, yard: list[Stack], faults: list[str]) -> Iterator[Keys]:
    """At the sign-in page, which is the only address that is opened otherwise than by a key."""
    phone.goto("/")
    yield Keys(phone)
    # the browser notes each refusal as a failed request, and nothing else is wrong
    faults[:] = [fault for fault in faults if "422" not in fault]


def test_from_the_sign_in_to_a_running_kiln(
    keys: Keys, owner: Any, yard: list[Stack], accessible: Callable[[Page], None]
) -> None:
    sign_in(keys, owner)
    assert [one.name.split(":")[0] for one in keys.headings()] == [
        "Today", "Your first day", "Decide on a charge", "Ready for the kiln", "Due a reading",
    ]  # fmt: skip
    by_its_code(keys, yard[0].code, "Ash 27")
    record_and_undo(keys, yard[0], accessible)
    new_stack(keys)
    accept(keys)
    load_and_start(keys, yard)
    charge = Charge.objects.get()
    assert (charge.state, charge.stacks.filter(loaded_at=None).count()) == ("drying", 0)


def test_the_kilns_are_planned_and_one_that_runs_is_visited(
    keys: Keys, owner: Any, running: Charge, accessible: Callable[[Page], None]
) -> None:
    sign_in(keys, owner)
    plan(keys)
    visit(keys, running, accessible)


def sign_in(keys: Keys, owner: Any) -> None:
    """A wrong password first: what is wrong is in focus, and both fields come after it."""
    assert keys.landed().name == "Username"
    keys.type(owner.username)
    assert keys.press("Tab").name == "Password"
    keys.type("sawdust")
    keys.enter("Drystack")
    assert keys.landed().words.startswith("Please enter a correct username and password")
    assert keys.press("Tab").name == "Username"
    assert keys.press("Tab").name == "Password"
    keys.type(PASSWORD)
    keys.enter("Today")


def by_its_code(keys: Keys, code: str, heading: str) -> None:
    """By the bar, which stands before a page's own things, to Scan; the code as it is printed on the tag."""
    keys.tab_to("Scan", role="link", back=keys.is_in_main())
    keys.enter("Scan a tag")
    keys.skip()
    keys.tab_to("Code under the tag", role="textbox")
    keys.type(shown(code).lower())
    keys.enter(heading)


def hears(keys: Keys, words: str) -> None:
    """What was kept has the focus, in the region that readers announce, so that it is heard before the page."""
    landed = keys.landed()
    assert landed.role == "status"
    assert landed.words.startswith(words)


def refused(keys: Keys, field: str, why: str) -> None:
    """The field that is wrong has the focus and says why; what stands in it is chosen, to be typed over."""
    wrong = keys.landed()
    assert (wrong.name, wrong.invalid) == (field, True)
    assert why in wrong.description
    keys.page.keyboard.press("Control+A")


def record_and_undo(keys: Keys, stack: Stack, accessible: Callable[[Page], None]) -> None:
    """What is no figure first: the field is in focus again, says why, and takes the right ones."""
    keys.skip()
    keys.tab_to("Record a reading", role="link")
    keys.enter("Reading")
    keys.skip()
    keys.tab_to("Values, %", role="textbox")
    keys.type("nine")
    keys.enter("Reading")
    refused(keys, "Values, %", "“nine” is no number")
    accessible(keys.page)
    keys.type("15.2 16 15.8")
    keys.enter("Ash 27")
    hears(keys, "Kept: ")
    assert stack.readings.get().voided_at is None
    assert keys.press("Tab").name == "Undo"
    keys.enter("Ash 27")
    hears(keys, "Undone: reading.")
    assert keys.press("Tab").name == "Do it again"
    assert Reading.objects.get().voided_at


def new_stack(keys: Keys) -> None:
    """Under a blank tag; kept too early first, then with a line of the tally that was asked for."""
    tag = TagFactory()
    by_its_code(keys, tag.code, "New stack")
    keys.skip()
    keys.tab_to("Keep this stack", role="button")
    keys.enter("New stack")
    assert keys.landed().words.startswith("Not kept yet.")
    keys.tab_to("Tally", role="link")
    keys.page.keyboard.press("Enter")
    first = keys.stop()
    assert (first.name, first.invalid) == ("Line 1, length", True)
    assert "No boards yet" in first.description
    keys.tab_to("Add lines", role="button")
    keys.page.keyboard.press("Enter")
    keys.page.wait_for_function("() => document.activeElement.name === 'line-4-length'")
    assert keys.stop().name == "Line 5, length"
    for text, after in (("4.1", "Line 5, width"), ("160", "Line 5, boards"), ("12", "Line 6, length")):
        keys.type(text)
        assert keys.press("Tab").name.startswith(after)
    keys.tab_to("Keep this stack", role="button")
    keys.enter("Ash 27")
    hears(keys, "ash 27 mm is kept: 12 boards.")
    assert tally(Stack.objects.get(code=tag.code)) == [[4100, 160, 12]]


def accept(keys: Keys) -> None:
    keys.tab_to("Kilns", role="link", back=True)
    keys.enter("Kilns")
    keys.skip()
    keys.tab_to("Ash", role="link")
    keys.enter("Small kiln from")
    keys.skip()
    keys.tab_to("Accept this charge", role="button")
    keys.enter("Small kiln from")
    hears(keys, "Accepted: its stacks are set aside")


def load_and_start(keys: Keys, stacks: list[Stack]) -> None:
    """By codes that are typed, as where there is no camera; a code too short first."""
    keys.tab_to("Load it", role="link")
    keys.enter("Load Small kiln")
    keys.skip()
    keys.tab_to("Tag", role="textbox")
    keys.type("ABCD")
    keys.enter("Load Small kiln")
    refused(keys, "Tag", "A code has 10 characters; these are 4.")
    for number, stack in enumerate(stacks):
        if number:
            keys.tab_to("Tag", role="textbox")
        keys.type(shown(stack.code))
        keys.enter("Load Small kiln")
        hears(keys, f"{' '.join(shown(stack.code).split())} is in.")
    keys.tab_to("Close the door and start", role="button")
    keys.enter("Small kiln from")
    hears(keys, "Started.")


def plan(keys: Keys) -> None:
    """Anew, as it is offered; what it came to is the next page, and why stacks are left out."""
    before = Plan.objects.get()
    keys.tab_to("Kilns", role="link", back=keys.is_in_main())
    keys.enter("Kilns")
    keys.skip()
    keys.tab_to("Plan", role="button")
    keys.enter("Plan")
    assert Plan.objects.exclude(pk=before.pk).get().made_by is not None
    assert [one.name for one in keys.headings()][-1] == "Left out: 2 stacks, and why"
    keys.skip()
    keys.tab_to("Not enough for a charge: 2")
    keys.tab_to("Ash 27 mm", role="link")


def visit(keys: Keys, charge: Charge, accessible: Callable[[Page], None]) -> None:
    """A heat that no kiln has first: its field is in focus again, says why, and takes the right one."""
    kiln = str(charge.kiln)
    keys.tab_to("Kilns", role="link", back=True)
    keys.enter("Kilns")
    keys.skip()
    keys.tab_to(kiln, role="link")
    keys.enter(f"{kiln} from")
    keys.skip()
    keys.tab_to("Note what you see", role="link")
    keys.enter("Note what you see")
    keys.skip()
    keys.tab_to("Dry bulb", role="textbox")
    keys.type("480")
    keys.tab_to("Keep", role="button")
    keys.enter("Note what you see")
    refused(keys, "Dry bulb , °C", "from −20 to 110 °C")
    accessible(keys.page)
    keys.type("48")
    keys.tab_to("Fans", role="combobox")
    keys.page.keyboard.press("ArrowDown")
    keys.tab_to("Note", role="textbox")
    keys.type("Fan belt sings")
    keys.tab_to("Keep", role="button")
    keys.enter(f"{kiln} from")
    hears(keys, "Kept")
    noted = RunRecord.objects.get()
    assert (noted.dry_bulb_c, noted.fans, noted.note) == (48, "running", "Fan belt sings")
