"""What the phone draws without reception: there, accessible, and saying what the server says."""

from datetime import date, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from kilnruns.models import StressTest
from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.factories import (
    BoardFactory,
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
    TagFactory,
)
from tests.kilnruns.factories import charge_of, ready_stack
from yard.actions.stacks import join
from yard.actions.tags import replace
from yard.fields.tagcode import hint
from yard.models import Outlook, SampleBoard
from yard.models.tagcode import TagCodeError, check, new_code, shown

pytestmark = pytest.mark.service_worker

NOW = timezone.now()


@pytest.fixture
def visit(phone_context, live_server, client, owner):
    """visit() opens Drystack once with reception, waits for worker and copy, and goes where there is none."""
    pages = []

    def visit(address="/", away=True):
        keep_signed_in(phone_context, owner, client, live_server.url)
        page = phone_context.new_page()
        pages.append((page, faults_of(page)))
        page.goto(address)
        settle(page)
        if away:
            out_of_reach(page)
        return page

    yield visit
    for _page, faults in pages:
        assert faults == []


def drawn(page, address):
    page.goto(address)
    page.locator("[data-drawn] > :not(noscript)").first.wait_for(state="attached")
    page.get_by_text("No reception.").first.wait_for()


@pytest.fixture
def yard():
    """One of each thing that an offline page is about, by the name that stands in ADDRESSES."""
    stack = ready_stack(species=SpeciesFactory(name="ash"), place=PlaceFactory(name="Barn"), note="Near the gate")
    ReadingFactory(stack=stack)
    SampleBoard.objects.create(stack=stack, label="A", green_mass_g=900, oven_dry_mass_g=500, made_on=NOW.date())
    charge = charge_of(ready_stack(), ready_stack())
    running = charge_of(ready_stack(), ready_stack(), started_at=NOW)
    running.stacks.update(loaded_at=NOW)
    old = replace(stack=stack, by=None, at=NOW).replaces.get().code
    board = BoardFactory(stack=stack)
    inside = running.stacks.first().stack
    sizes = {"prong_mm": 90, "fresh_mm": 20.5}
    test = StressTest.objects.create(charge=running, stack=inside, kind="prong", at=NOW, **sizes)
    return {
        "inside": inside.code,
        "test": test.pk,
        "code": stack.code,
        "board": board.code,
        "blank": TagFactory().code,
        "old": old,
        "charge": charge.pk,
        "running": running.pk,
        "strange": new_code(),
    }


ADDRESSES = {
    "today": ("/", "Today"),
    "scan": ("/scan/", "Scan a tag"),
    "yard": ("/yard/", "Yard"),
    "stack": ("/t/{code}", "Ash 27\u202fmm"),
    "pins": ("/stacks/{code}/readings/new/?method=pins", "Reading"),
    "capacitance": ("/stacks/{code}/readings/new/?method=capacitance", "Reading"),
    "oven": ("/stacks/{code}/readings/new/?method=oven_dry", "Reading"),
    "weighing": ("/stacks/{code}/readings/new/?method=sample_board", "Reading"),
    "move": ("/stacks/{code}/move/", "Where does it stand now?"),
    "note": ("/stacks/{code}/note/", "Note"),
    "photos": ("/stacks/{code}/photos/", "Photos"),
    "board": ("/t/{board}", "Ash 27\u202fmm, one board"),
    "new": ("/t/{blank}", "New stack"),
    "replaced": ("/t/{old}", "This tag was replaced"),
    "unknown": ("/t/{strange}", "No such tag in the copy"),
    "mistyped": ("/t/ABC", "No such tag"),
    "loading": ("/charges/{charge}/loading/", "Load Kiln"),
    "unloading": ("/charges/{running}/unloading/", "Unload Kiln"),
    "waiting": ("/waiting/", "Waiting to be sent"),
    "kilns": ("/kilns/", "Kilns"),
    "charge": ("/charges/{charge}/", "Kiln"),
    "run": ("/charges/{running}/", "Kiln"),
    "visit": ("/charges/{running}/records/new/", "Note what you see"),
    "closing": ("/charges/{running}/closing/", "Kiln"),
    "measure": ("/charges/{running}/closing/{inside}/", "Measure the boards"),
    "degrade": ("/charges/{running}/degrade/{inside}/", "Degrade"),
    "stress": ("/charges/{running}/stress/", "Test for stress"),
    "second look": ("/charges/stress-tests/{test}/", "Look at the prongs again"),
    "samples": ("/stacks/{code}/samples/", "Sample boards"),
    "not begun": ("/charges/{charge}/closing/", "Kiln"),
    "no such stack in it": ("/charges/{running}/closing/{strange}/", "This page needs reception"),
    "elsewhere": ("/needs/", "This page needs reception"),
}


def test_each_page_is_drawn_accessible_and_says_how_old_it_is(
    visit, yard, accessible, readable_in_the_dark, keep_picture
):
    page = visit()
    for name, (address, heading) in ADDRESSES.items():
        page.emulate_media(color_scheme="light")
        drawn(page, address.format(**yard))
        assert page.locator("h1").inner_text().startswith(heading), name
        assert page.get_by_text("As of").is_visible(), name
        assert page.get_by_role("link", name="Try again").get_attribute("href") == page.url
        for scheme, passes in (("light", accessible), ("dark", readable_in_the_dark)):
            passes(page)
            keep_picture(page, f"offline-{name}-{scheme}")


def test_the_copy_s_age_is_told_by_the_phone_s_clock(visit, yard):
    page = visit(away=False)
    page.clock.install(time=NOW + timedelta(hours=2))
    out_of_reach(page)
    drawn(page, "/")
    assert "2 hours ago. No reception." in page.locator("[data-age]").inner_text()


def _state(name):
    today = timezone.localdate()
    near, far = {"ready_p10": today + timedelta(days=5)}, {"ready_p90": today + timedelta(days=90)}
    outlooks = {
        "ready": {},
        "unsure": {"ready_p50": today - timedelta(days=3), "ready_p90": None},
        "drying": {**near, "ready_p50": today + timedelta(days=20), **far},
        "open": {**near, "ready_p50": today + timedelta(days=20), "ready_p90": None},
        "late": {**near, "ready_p50": None, "ready_p90": None},
        "never": {"ready_p10": None, "ready_p50": None, "ready_p90": None, "never": True, "reachable_pct": 24},
    }
    if name == "in kiln":
        return StackFactory(place=KilnPlaceFactory())
    if name == "dried":
        stack = StackFactory(kiln_dried_on=date(2026, 3, 1))
        ReadingFactory(stack=stack, taken_at=NOW)
        return stack
    stack = StackFactory(cut_on=date(2026, 2, 1))
    if name == "no climate":
        stack.place.temperatures_c = []
        stack.place.save()
        return stack
    OutlookFactory(stack=stack, **outlooks[name])
    return stack


STATES = ["ready", "unsure", "drying", "open", "late", "never", "in kiln", "dried", "no climate"]


def test_a_stack_says_offline_what_it_says_online(visit):
    stacks = {name: _state(name) for name in STATES}
    page = visit("/yard/", away=False)
    Outlook.objects.update(made_at=NOW)
    told = {}
    for name, stack in stacks.items():
        page.goto(f"/stacks/{stack.code}/")
        told[name] = said(page)
    out_of_reach(page)
    for name, stack in stacks.items():
        drawn(page, f"/stacks/{stack.code}/")
        assert said(page) == told[name], name


def said(page):
    """The heading, the moisture with its band, and the verb of the card."""
    texts = page.locator("h1, .reading .figure, .reading .band, main .say .verb").all_inner_texts()
    return [text.replace("\n", " ").strip() for text in texts][:4]


@pytest.mark.parametrize("address", ["/yard/", "/yard/?due=on"])
def test_the_list_has_the_order_of_the_server_s(visit, address):
    for name in STATES * 3:  # tags are drawn: one of a state may stand right by chance
        _state(name)
    StackFactory.create_batch(3, place=KilnPlaceFactory())
    page = visit(address, away=False)
    Outlook.objects.update(made_at=NOW)
    page.reload()
    online = page.locator(".rows .code").all_inner_texts()
    assert len(online) == 3 * len(STATES) + 3
    out_of_reach(page)
    drawn(page, address)
    assert page.locator(".rows .code").all_inner_texts() == online


def test_the_list_can_be_searched(visit):
    stacks = [_state(name) for name in STATES]
    page = visit()
    drawn(page, "/yard/")
    assert page.locator(".rows .badge").first.inner_text() == "ready"
    page.get_by_label("Tag, species or note").fill(stacks[3].code[:4].lower())
    assert page.locator(".rows .code").all_inner_texts() == [shown(stacks[3].code)]
    page.get_by_label("Tag, species or note").fill("no wood of that name")
    assert page.get_by_text("No stack is like that.").is_visible()


def test_a_long_list_is_shown_by_and_by(visit):
    species, place = SpeciesFactory(), PlaceFactory()
    for _n in range(53):
        StackFactory(species=species, place=place)
    page = visit()
    drawn(page, "/yard/")
    assert page.locator("[data-stacks] > li").count() == 50
    page.get_by_role("button", name="Show more").click()
    assert page.locator("[data-stacks] > li").count() == 53
    assert page.get_by_role("button", name="Show more").is_hidden()


def test_a_mistyped_code_gets_the_server_s_hint(visit):
    page = visit("/scan/")
    for text in ("ABCDEF", "ABCDEFGHJ0", "ABCDEFGHJL", "ABCDEFGHJ?", "ABCDEFGHJK"):
        with pytest.raises(TagCodeError) as error:
            check(text)
        drawn(page, "/scan/")
        page.get_by_label("Code under the tag").fill(text.lower())
        page.get_by_role("button", name="Open").click()
        page.get_by_role("heading", name="No such tag").wait_for()
        expect(page.locator(".say .verb")).to_contain_text(hint(error.value))


def test_a_joined_stack_s_tag_leads_to_the_stack_it_lies_on(visit):
    one = ready_stack()
    other = ready_stack(species=one.species)
    join(stack=one, into=other, by=None, at=NOW)
    page = visit()
    drawn(page, f"/t/{one.code}")
    assert page.url.endswith(f"/stacks/{other.code}/")


def test_what_a_person_wrote_is_never_markup(visit):
    stack = ready_stack(note="<img src=x onerror=alert(1)> {code}", species=SpeciesFactory(name="<b>ash</b>"))
    page = visit()
    drawn(page, f"/stacks/{stack.code}/")
    assert page.get_by_text("<img src=x onerror=alert(1)> {code}").is_visible()
    assert page.locator("h1 b, main img").count() == 0


def test_the_page_itself_holds_nobody_s_data(client, owner):
    stack = ready_stack(note="Near the gate", species=SpeciesFactory(name="Hollywood"), place=PlaceFactory(name="Loft"))
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get("/offline").content.decode()
    for text in (stack.code, "Near the gate", "Hollywood", "Loft", owner.username, 'name="key"', "csrfmiddlewaretoken"):
        assert text not in page, text
    assert page == client.get("/offline").content.decode()


def test_without_a_copy_it_says_what_to_do(visit, accessible, readable_in_the_dark):
    page = visit(away=False)
    page.goto("/sign-in/?next=/offline")
    page.goto("/offline")
    page.evaluate("async () => (await import('/static/js/db.js')).forgetCopy()")
    out_of_reach(page)
    drawn(page, "/")
    assert page.locator("h1").inner_text() == "No copy of the yard yet"
    accessible(page)
    readable_in_the_dark(page)
    assert kept(page)["stacks"] == []
