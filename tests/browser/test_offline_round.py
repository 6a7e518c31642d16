"""A whole round of the yard without reception, while others go on working in it; and back, over a bad connection."""

import itertools
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import sign_in
from tests.factories import PlaceFactory, SpeciesFactory, TagFactory, UserFactory
from tests.kilnruns.factories import charge_of, ready_stack
from yard.actions.stacks import join, make_stack, move, use
from yard.models import Event, Reading, Receipt, Stack

pytestmark = pytest.mark.service_worker

TEN = [(str(14 + number), str(15 + number)) for number in range(10)]


@pytest.fixture
def walker(phone_context: Any, owner: Any) -> Page:
    """A phone on which the owner has signed in as people do."""
    page = phone_context.new_page()
    sign_in(page, owner)
    return page


def scan(page: Page, code: str) -> None:
    page.get_by_role("link", name="Scan", exact=True).click()
    page.get_by_label("Code under the tag").fill(code)
    page.get_by_role("button", name="Open").click()
    page.wait_for_url(lambda url: code in url)


def read(page: Page, code: str, values: tuple[str, ...]) -> int:
    """A reading on the keypad, by taps alone from the stack's page; answers how many it took beyond the digits."""
    taps = 1
    page.get_by_role("link", name="Record a reading").click()
    for number, value in enumerate(values):
        if number:
            page.locator('[data-key="next"]').click()
            taps += 1
        for digit in value:
            page.locator(f'[data-key="{digit}"]').click()
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{code}/")
    expect(page.get_by_text("Kept on this phone.")).to_be_visible()
    return taps + 1


def tag_new_stack(page: Page, code: str) -> None:
    scan(page, code)
    page.get_by_label("Species").select_option(label="Testspruce")
    page.get_by_label("Thickness").fill("27")
    page.get_by_label("Barn").check()
    for name, value in {"line-0-length": "4", "line-0-width": "150", "line-0-count": "12"}.items():
        page.locator(f"[name={name}]").fill(value)
    page.get_by_role("button", name="Keep this stack").click()
    expect(page.get_by_text("Kept on this phone.")).to_be_visible()


def others_go_on(stacks: list[Stack], tag: Any, barn: Any) -> None:
    """What a second person does meanwhile: one stack joined, one moved, one used up, one blank tag claimed."""
    other, now = UserFactory(username="other"), timezone.now()
    join(stack=stacks[0], into=stacks[1], by=other, at=now)
    move(stacks=[stacks[2]], place=barn, by=other, at=now + timedelta(seconds=1))
    use(stack=stacks[3], for_what="a gate", by=other, at=now)
    theirs = Stack(species=stacks[0].species, place=barn, thickness_mm=40, cut_on=stacks[0].cut_on)
    make_stack(tag=tag, stack=theirs, lines=[(3000, 200, 5)], by=other, at=now)


def back_over_a_bad_connection(page: Page, losses: Any) -> None:
    """Of what is sent every second thing meets a fault, each kind in its turn; the person opens a page now and then."""
    fates = itertools.cycle(["pass", "answer lost", "pass", "request lost", "pass", "503"])
    losses.decide = lambda request: next(fates)
    page.context.set_offline(False)
    for _visit in range(60):
        page.goto("/waiting/")
        page.wait_for_timeout(700)
        found = kept(page)
        if found and not found["outbox"]:
            return
    raise AssertionError(kept(page)["outbox"])


def test_ten_stacks_without_reception_and_back(walker, losses, keep_picture):
    barn, shed = PlaceFactory(name="Barn"), PlaceFactory(name="Shed")
    SpeciesFactory(name="Testspruce")
    larch = SpeciesFactory(name="Testlarch")
    stacks = [ready_stack(species=larch, place=shed) for _number in range(10)]
    charge = charge_of(*stacks[4:6])
    fresh, claimed = TagFactory(), TagFactory()
    page, faults = walker, faults_of(walker)
    page.goto("/")
    settle(page, stacks=10)
    out_of_reach(page)
    page.get_by_role("link", name="Yard", exact=True).click()

    taps = []
    for stack, values in zip(stacks, TEN, strict=True):
        scan(page, stack.code)
        taps.append(read(page, stack.code, values))
    assert max(taps) <= 6  # product.md: beyond the digits
    for tag in fresh, claimed:
        tag_new_stack(page, tag.code)
        read(page, tag.code, ("61",))
    scan(page, stacks[2].code)
    page.get_by_role("link", name="Note", exact=True).click()
    page.get_by_label("Note").fill("Sticker missing at the south end")
    page.get_by_role("button", name="Keep this note").click()
    page.wait_for_url(f"**/stacks/{stacks[2].code}/")
    scan(page, stacks[4].code)
    page.get_by_role("button", name="Check this stack in").click()
    expect(page.get_by_text("1 of 2 in")).to_be_visible()
    expect(page.locator("[data-waiting-count]")).to_have_text("16 waiting")
    keep_picture(page, "round-waiting")
    assert not Reading.objects.exists() and not Receipt.objects.exists()

    others_go_on(stacks, claimed, barn)
    back_over_a_bad_connection(page, losses)

    assert len(losses.sent) > len(set(losses.sent)) == 16
    raws = dict(Reading.objects.values_list("stack__code", "raw"))
    assert Reading.objects.count() == 10  # nine of the ten, and the fresh stack's
    assert sorted(Reading.objects.filter(stack=stacks[1]).values_list("raw", flat=True)) == [[14.0, 15.0], [15.0, 16.0]]
    for stack, values in zip(stacks[4:], TEN[4:], strict=True):
        assert raws[stack.code] == [float(value) for value in values]
    assert raws[fresh.code] == [61.0]
    assert Stack.objects.get(code=claimed.code).thickness_mm == 40  # the other's stack has no reading of ours
    assert Event.objects.filter(kind="noted").count() == 1
    assert [item.loaded_at is not None for item in charge.stacks.order_by("pk")] == [True, False]
    # The used stack's reading, the second stack on one tag, and the reading that followed it: a person sorts them out.
    assert Receipt.objects.to_sort_out().count() == 3
    page.goto("/")
    expect(page.get_by_text("3 things to sort out")).to_be_visible()
    page.goto("/waiting/")
    expect(page.get_by_text("To sort out").first).to_be_visible()
    keep_picture(page, "round-arrived")
    assert [fault for fault in faults if not fault.startswith("Failed to load")] == []
