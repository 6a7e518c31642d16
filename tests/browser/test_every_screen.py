"""Every screen at 360 px in light and dark: WCAG 2.2 AA, no sideways scrolling, targets of 48 px, a quiet console,
nothing that whoever only hears the page would miss."""

import json
from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import UUID

import pytest
from django.contrib.auth import get_user_model
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Browser, Page

from config.backup.keeping import back_up
from config.demo import build, in_hand, stacks
from kilnruns.actions.reminding import add_device as add_device_to_remind
from kilnruns.actions.reminding import make_calendar
from kilnruns.actions.sensing import add_device, take
from kilnruns.models import (
    Charge,
    Closure,
    DayOff,
    Fixing,
    GroupMember,
    Kiln,
    OwnGroup,
    Paper,
    PaperLink,
    Plan,
    PlanningRules,
    Proposal,
    RunRecord,
    SensorDevice,
    StressTest,
)
from tests.browser.hearing import heard, muddles
from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE
from tests.config.test_signing_in import named
from tests.config.units_shown import shown_wrong
from tests.factories import BoardFactory, UserFactory
from tests.yard.outbox import send
from yard import outlook
from yard.actions.photos import add_photo, remove_photo
from yard.actions.sentsheets import keep_sheet
from yard.actions.species import load_species
from yard.actions.stacks import split, tally
from yard.forms.tools import TOOLS
from yard.models import Need, NeedLine, Photo, Place, Reading, Receipt, SentSheet, Species, Stack, Tag

EVERY = 4  # one in four of the demo's stacks is a small yard with all that screens show
# Answers to a POST alone, files, and what a browser can't show as a page.
NOT_SCREENS = {
    "charge_schedule_restore", "charge_schedule_for_kiln", "kiln_schedule_drop",
    "backup_check", "backup_file",
    "board_label", "charge_call_off", "charge_costs", "charge_report_csv", "charge_report_json", "kiln_lesson",
    "charge_start", "charge_take_back", "closure_lift", "copy", "drying_table",
    "kiln_closures", "kiln_trust", "day_off_lift", "days_off", "drying_group_dissolve", "planning_rules_usual",
    "mill_figures_usual",
    "exchange_example", "exchange_file",
    "calendar_end", "calendar_feed", "calendar_new", "push_device_end", "push_device_new", "push_device_try",
    "login", "sensor_openapi", "sensor_readings", "sensor_shut_out", "sensor_token",
    "logout", "manifest", "need_line_new", "need_met", "need_promise", "need_release", "need_reserve", "offline",
    "person_admission", "person_password", "person_role", "person_sessions", "person_invite",
    "sign_in_code", "second_factor_codes", "second_factor_end", "sign_in_end", "person_factor_end",
    "invitation_withdraw", "invitation", "photo", "photo_put_back", "photo_remove", "undo",
    "former_kind_remove", "place_weather_remove", "place_weather_sheet", "plans", "probe", "proposal_charge",
    "planning", "planning_best", "planning_cancel", "fixing_cost", "fixing_lift", "proposal_choose",
    "run_record_photo", "paper_link", "paper_link_end", "paper_print", "paper_withdraw",
    "service-worker", "service-worker-classic", "stack_label", "stack_preview", "tag_sheet", "welcome",
}  # fmt: skip


@pytest.fixture
def mill(live_server: Any, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A quarter of the demo mill, its owner signed in by name."""
    all_rows = stacks.rows()
    monkeypatch.setattr(stacks, "rows", lambda: all_rows[::EVERY])
    # It would take all that is to be planned; tests/browser/test_run_in_hand.py walks its screens.
    monkeypatch.setattr(in_hand, "begin", lambda *_given: None)
    furnish()


def furnish() -> None:
    """Build the demo mill, and what it lacks for some screen to have something to show."""
    load_species()
    build.build(timezone.localdate(), lambda line: None)
    stack = Stack.objects.drying().filter(set_aside_for="")[0]
    BoardFactory(stack=stack)
    length_mm, width_mm, _count = tally(stack)[0]
    split(stack=stack, lines=[(length_mm, width_mm, 1)], by=None, at=timezone.now())
    sort_something_out()
    device, _token = add_device(kiln=Kiln.objects.all()[0], name="Rear wall", by=None)
    ago = [timezone.now() - timedelta(minutes=5 * one) for one in range(20)]
    rows = [{"quantity": "dry_bulb_c", "value": 50 + one.minute / 10, "at": one.isoformat()} for one in ago]
    take(device=device, rows=rows, at=timezone.now())
    RunRecord.objects.create(charge=Charge.objects.ahead()[0], at=timezone.now(), note="Fan belt sings")
    own = OwnGroup.objects.create(name="Carving wood", base="light_hardwood")
    GroupMember.objects.create(species=stack.species, own=own)
    PlanningRules.objects.create(pk=1, smallest_fill=0.7)
    owner = get_user_model().objects.get(username="owner")
    given = {"p256dh": "", "auth": "", "site": "https://yard.example", "is_phone": True}
    add_device_to_remind(by=owner, at=timezone.now(), endpoint="https://push.example/one", **given)
    back_up(at=timezone.now())
    make_calendar(by=owner, at=timezone.now())
    head, row = b"tag;species;place;thickness_mm;sawn_on;tally\n", ";no wood;no place;270;soon;4 by 4\n"
    more = f"{stack.code};{stack.species.key};{stack.place.name};33;{stack.cut_on};4000x150x9\n"
    keep_sheet(kind="stacks", name="mine.csv", content=head + (row + more).encode(), by=owner, at=timezone.now())
    Fixing.objects.create(kind="hold", stack=stack, made_at=timezone.now(), reason="For the barn")
    blurred = BytesIO()
    Image.new("RGB", (600, 400), "peru").save(blurred, "JPEG")
    photo = add_photo(stack=stack, file=ContentFile(blurred.getvalue()), by=owner)
    remove_photo(photo=photo, by=owner, at=timezone.now())


def sort_something_out() -> None:
    """A stack on a tag that was claimed meanwhile, and a reading after it: both wait for a person."""
    client, taken = Client(), Stack.objects.standing().order_by("-code")[0]
    client.force_login(UserFactory(username="Runa"), backend="django.contrib.auth.backends.ModelBackend")
    fields = {"species": taken.species_id, "thickness_mm": "40", "cut_on": taken.cut_on, "keep": "1", "rows": "1"}
    fields |= {"place": Place.objects.outdoors()[0].pk, "wood_part": "mixed", "target_pct": "8", "kiln_entry_pct": "20"}
    fields |= {"line-0-length": "4", "line-0-width": "150", "line-0-count": "30", "sticker_mm": "25"}
    words = [["Species", str(taken.species)], ["Thickness", "40 mm"], ["Line 1", "4 m, 150 mm, 30 boards"]]
    send(client, f"/stacks/new/?tag={taken.code}", fields | {"outbox_words": json.dumps(words)})
    send(client, f"/stacks/{taken.code}/readings/new/", {"method": "pins", "values": "31 33"})
    assert Receipt.objects.to_sort_out().count() == 2


def examples() -> dict[str, dict[str, Any]]:
    """What each address is filled with, by url name."""
    stack = Stack.objects.drying().filter(readings__isnull=False).distinct().order_by("code")[0]
    board = stack.boards.first() or Stack.objects.filter(boards__isnull=False)[0].boards.first()
    blank = Tag.objects.blank()[0]
    by_pk = {
        "charge": Charge.objects.ahead()[0],
        "closure": Closure.objects.all()[0],
        "day_off": DayOff.objects.all()[0],
        "drying_group": OwnGroup.objects.all()[0],
        "fixing": Fixing.objects.all()[0],
        "charge_schedule": Charge.objects.ahead()[0],
        "charge_sheet": Charge.objects.ahead()[0],
        "charge_drawing": Charge.objects.ahead()[0],
        "charge_loading": Charge.objects.ahead()[0],
        "charge_unloading": Charge.objects.ahead()[0],
        "run_record_new": Charge.objects.ahead()[0],
        "pins_left": Charge.objects.ahead()[0],
        "run_photo_new": Charge.objects.ahead()[0],
        "run_record_void": RunRecord.objects.all()[0],
        "kiln": Kiln.objects.all()[0],
        "person_sign_ins": get_user_model().objects.get(username="owner"),
        "need": Need.objects.filter(promised_on__isnull=False)[0],
        "need_line": NeedLine.objects.all()[0],
        "need_cuts": NeedLine.objects.filter(unit="pieces")[0],
        "place": Place.objects.outdoors()[0],
        "place_weather": Place.objects.filter(weather__isnull=False)[0],
        "plan": Plan.objects.in_force(),
        "proposal": Proposal.objects.all()[0],
        "photo_delete": Photo.objects.removed()[0],
        "sensor": SensorDevice.objects.all()[0],
        "reading_void": Reading.objects.valid()[0],
    }
    done = Charge.objects.filter(unloaded_at__isnull=False)[0]
    by_pk |= {"charge_closing": done, "charge_report": done, "charge_stress": done}
    by_pk["stress_test"] = test = StressTest.objects.all()[0]
    StressTest.objects.filter(pk=test.pk).update(key=UUID(int=1))
    filled: dict[str, dict[str, Any]] = {name: {"pk": row.pk} for name, row in by_pk.items()}
    filled |= {name: {"code": blank.code} for name in named() if name.startswith("tag") and name not in ("tags",)}
    filled |= {name: {"code": board.code} for name in ("board", "board_retag", "board_retag_done")}
    inside = done.stacks.all()[0].stack.code
    filled |= {name: {"pk": done.pk, "code": inside} for name in ("charge_measure", "charge_degrade")}
    filled["charge_look_again"] = {"pk": test.charge_id, "receipt": UUID(int=1)}
    filled["stack_split_done"] = {"code": Stack.objects.filter(split_from__isnull=False)[0].code}
    filled["sort_out_one"] = {"receipt": Receipt.objects.get(why="taken").key}
    filled["species"] = filled["drying_group_move"] = {"key": stack.species.key}
    told = outlook.knowledge().told[0]
    filled["learned_kind"] = {"key": told.stack.species.key, "pk": told.place.pk}
    filled["learned_stack"] = {"code": told.stack.code}
    filled["tool"] = {"key": "mass"}
    filled["history"] = {"key": "kiln", "pk": by_pk["kiln"].pk}
    filled["exchange_sheet"] = {"key": "stacks"}
    filled["exchange_sent"] = {"pk": SentSheet.objects.all()[0].pk}
    filled["fixing_new"] = {"code": stack.code}
    filled["paper"] = {"pk": Paper.objects.filter(links__isnull=False)[0].pk}
    filled["paper_public"] = {"token": PaperLink.objects.all()[0].token}
    unfilled = {"tags", "stack_new", "scan"}
    stack_pages = {name for name in named() if name.startswith(("stack", "reading_new"))} - unfilled - NOT_SCREENS
    return {name: {"code": stack.code} for name in stack_pages} | filled


def calculators() -> list[str]:
    """Each calculator, and some with their answers."""
    place, wood = Place.objects.outdoors()[0], "wood=norway_spruce"
    return [
        *(f"/tools/{key}/" for key in TOOLS if key != "mass"),
        "/tools/emc/?t=20&rh=65",
        f"/tools/meter/?value=18&t=2&{wood}",
        "/tools/oven/?wet=180&dry=120",
        f"/tools/sawing/?size=25&{wood}&mc=8&planing=2&deviation=1",
        f"/tools/mass/?{wood}&mc=60&thickness=50&width=200&length=5&count=40&to=18",
        f"/tools/drying/?{wood}&place={place.pk}&thickness=50&month=4&target=18",
    ]


def ways() -> list[str]:
    """What is asked for each way in which a stack of the plan may go."""
    inside = Proposal.objects.all()[0].shares.all()[0].stack.code
    return [f"/fixings/new/{inside}/?kind={kind}" for kind in ("into", "hold", "start", "apart")]


def finds() -> list[str]:
    """Boards that fit, that nearly do, and one at hand; none of a size that no board has."""
    size = "length=2&width=120&thickness=20&moisture=15&planing=1"
    return [
        f"/find/?{size}&code={Stack.objects.drying()[0].code}",
        "/find/?length=19&width=900&thickness=90&moisture=8",
    ]


def papers() -> list[str]:
    """The form from a stack's page and from a charge's, and a search that finds nothing."""
    done = Charge.objects.filter(unloaded_at__isnull=False)[0]
    return [
        f"/papers/new/?stack={Stack.objects.filter(boards__isnull=False)[0].code}",
        f"/papers/new/?charge={done.pk}&kind=dry_certificate",
        "/papers/?q=nothing-says-this",
    ]


def histories() -> list[str]:
    """Of each kind of thing beside a kiln; photos that were removed."""
    need, charge = (
        Need.objects.filter(promised_on__isnull=False)[0],
        Charge.objects.filter(unloaded_at__isnull=False)[0],
    )
    place, removed = Place.objects.outdoors()[0], Photo.objects.removed()[0].stack
    kinds = (
        ("need", need.pk),
        ("charge", charge.pk),
        ("place", place.pk),
        ("mill", 1),
        ("species", Species.objects.all()[0].pk),
    )
    return [*(f"/history/{kind}/{pk}/" for kind, pk in kinds), f"/stacks/{removed.code}/photos/"]


def screens() -> list[str]:
    filled = examples()
    return [reverse(name, kwargs=filled.get(name, {})) for name in named() if name not in NOT_SCREENS]


def test_every_screen_is_fit_for_a_phone(
    chromium: Browser,
    live_server: Any,
    mill: None,
    client: Any,
    django_user_model: Any,
    accessible: Callable[[Page], None],
    readable_in_the_dark: Callable[[Page], None],
    keep_picture: Callable[[Page, str], None],
) -> None:
    addresses = [*screens(), f"/stacks/new/?tag={Tag.objects.blank()[0].code}", "/yard/?first=due"]
    addresses += [*calculators(), *ways(), *finds(), *papers(), *histories()]
    assert len(addresses) > 40
    wrong = []
    context = chromium.new_context(**PHONE, base_url=live_server.url, color_scheme="light", service_workers="block")
    owner = django_user_model.objects.get(username="owner")
    keep_signed_in(context, owner, client, live_server.url)
    page = context.new_page()
    page.on("console", lambda message: message.type == "error" and wrong.append(message.text))
    tree = context.new_cdp_session(page)
    for address in addresses:
        page.emulate_media(color_scheme="light")
        response = page.goto(address)
        if response is None or response.status != 200:
            wrong.append(f"{address}: {response and response.status}")
            continue
        wrong += [f"{address}: {words}" for words in muddles(heard(tree))]
        for scheme, check in (("light", accessible), ("dark", readable_in_the_dark)):
            try:
                check(page)
            except AssertionError as error:
                wrong.append(str(error))
            keep_picture(page, f"{scheme}{address.replace('/', '_')}")
    context.close()
    assert wrong + shown_wrong(client, owner, addresses) == []
