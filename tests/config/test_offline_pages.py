"""The pages drawn on the phone: each at an address of the server, each word that a script asks for is there."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.template.loader import render_to_string
from django.urls import resolve

from config.offline.pages import OFFLINE_PATHS, PAGES, context
from yard.forms.tools import TOOLS
from yard.models import PlaceKind

ROOT = Path(settings.BASE_DIR)
ADDRESSES = {
    "/": ("today", "today"),
    "/scan/": ("scan", "scan"),
    "/yard/": ("yard", "yard"),
    "/T/ABCDEFGHJK": ("tag", "tag"),
    "/t/ABCDEFGHJK/": ("tag", "tag"),
    "/stacks/new/": ("stack_new", "stack_new"),
    "/stacks/ABCDEFGHJK/": ("stack", "stack"),
    "/stacks/ABCDEFGHJK/readings/new/": ("reading", "reading_new"),
    "/stacks/ABCDEFGHJK/move/": ("move", "stack_move"),
    "/stacks/ABCDEFGHJK/note/": ("note", "stack_note"),
    "/stacks/ABCDEFGHJK/photos/": ("photos", "stack_photos"),
    "/stacks/ABCDEFGHJK/samples/": ("samples", "stack_samples"),
    "/boards/ABCDEFGHJK/": ("board", "board"),
    "/kilns/": ("kilns", "kilns"),
    "/charges/7/": ("charge", "charge"),
    "/charges/7/loading/": ("loading", "charge_loading"),
    "/charges/7/drawing/": ("drawing", "charge_drawing"),
    "/charges/7/unloading/": ("unloading", "charge_unloading"),
    "/charges/7/records/new/": ("run_record", "run_record_new"),
    "/charges/7/stress/": ("stress", "charge_stress"),
    "/charges/7/stress/0a0a0a0a-0b0b-4c0c-8d0d-0e0e0e0e0e0e/": ("stress_test", "charge_look_again"),
    "/charges/stress-tests/5/": ("stress_test", "stress_test"),
    "/charges/7/closing/": ("closing", "charge_closing"),
    "/charges/7/closing/ABCDEFGHJK/": ("measure", "charge_measure"),
    "/charges/7/degrade/ABCDEFGHJK/": ("degrade", "charge_degrade"),
    "/waiting/": ("waiting", "waiting"),
    "/help/": ("help", "help"),
    "/tools/": ("tools", "tools"),
    **{f"/tools/{key}/": (f"tool_{key}", "tool") for key in TOOLS},
}
SOURCES = sorted(
    path for part in ("offline_*", "drawings*", "tools*") for path in (ROOT / "static" / "js").glob(f"{part}.js")
)


def drawn(path):
    return next((page.name for page in PAGES if re.search(page.path, path)), None)


@pytest.mark.parametrize("path", ADDRESSES)
def test_each_page_stands_for_one_of_the_server_s(path):
    name, url_name = ADDRESSES[path]
    assert drawn(path) == name
    assert resolve(path).url_name == url_name


def test_no_page_is_left_out():
    assert {page.name for page in PAGES} == {name for name, _url_name in ADDRESSES.values()}
    assert {page.name for page in PAGES if page.path not in OFFLINE_PATHS} == {"kilns"}


@pytest.mark.parametrize(
    "path", ["/stacks/ABCDEFGHJK/split/", "/kilns/new/", "/charges/7/report/", "/sign-in/", "/stacks/A/B/"]
)
def test_other_pages_are_not_drawn(path):
    assert drawn(path) is None


@pytest.mark.django_db
def test_each_word_that_a_script_asks_for_is_there():
    page = render_to_string("pwa/offline.html", context())
    there = set(re.findall(r'data-words="([\w:]+)"', page))
    code = "\n".join(path.read_text() for path in SOURCES)
    asked = set(re.findall(r'\bwords\("(\w+)"', code)) | {f"kind_{kind}" for kind in PlaceKind.values}
    counted = {f"{name}:{form}" for name in re.findall(r'\bcounted\("(\w+)"', code) for form in ("one", "other")}
    assert len(asked) > 15 and counted
    assert asked | counted <= there
    states = {"ready", "drying", "late", "never", "unknown", "in_kiln", "dried", "waiting"}
    assert {f"{part}_{state}" for part in ("badge", "verb", "why") for state in states} <= there


@pytest.mark.django_db
def test_each_kind_of_thing_a_page_is_about_is_known_to_the_script():
    code = (ROOT / "static" / "js" / "offline_page.js").read_text()
    kinds = re.search(r"const ABOUT = \{(.*?)\};", code, re.DOTALL)
    assert kinds
    assert {page.about for page in PAGES if page.about} == set(re.findall(r"(\w+):", kinds[1]))


@pytest.mark.django_db
def test_each_refusal_of_a_calculator_has_its_words():
    """A code means the same in each, since the page has one word for it."""
    page = render_to_string("pwa/offline.html", context())
    code = (ROOT / "static" / "js" / "tools_reckon.js").read_text() + (ROOT / "static" / "js" / "tools.js").read_text()
    asked = set(re.findall(r'refuse\([^,]+, "(\w+)"', code))
    assert len(asked) > 8
    assert {f"refused_{one}" for one in asked} <= set(re.findall(r'data-words="(\w+)"', page))
    for form in TOOLS.values():
        assert all(context()["refusals"][one] == words for one, words in form.refusals.items())
