"""The calculators on a phone: in the browser they come to what the core says, and they work without reception."""

import random
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.offline import faults_of, out_of_reach, settle
from tests.factories import PlaceFactory, SpeciesFactory
from yard import outlook
from yard.actions.species import load_species
from yard.forms.figures import ToolForm
from yard.forms.tools import TOOLS
from yard.models import Species

QUESTIONS = 300
SEED = 20_260
TOLERANCE = 1e-6  # of the figure, or absolute below 1: the same closed forms, other rounding
IN_BROWSER = """async ([key, questions, tables]) => {
  const { TOOLS } = await import("/static/js/tools_reckon.js");
  return questions.map((given) => {
    try {
      const [figures, notes] = TOOLS[key]({ ...given, wood: tables.woods[given.wood] }, tables);
      return { figures, notes: (notes ?? []).filter(Boolean) };
    } catch ({ field, code, figures }) {
      if (!field) throw new Error(`${key} ${JSON.stringify(given)}`);
      return { field, code, figures };
    }
  });
}"""


def question(rng: random.Random, key: str, woods: list[str], scales: list[str]) -> dict[str, Any]:
    """A figure for each field, as the form would clean it; some impossible together."""
    given: dict[str, Any] = {}
    for name, field in TOOLS[key].base_fields.items():
        if hasattr(field, "least"):
            empty = not field.required and field.otherwise is None and rng.random() < 0.3
            given[name] = None if empty else round(rng.uniform(field.least, field.most), 2)
        elif name == "wood":
            given[name] = rng.choice(woods)
        elif name == "meter":
            given[name] = rng.choice(["", *scales])
        else:
            given[name] = rng.choice([choice for choice, _label in field.choices])
    return told_by_one(rng, given) if {"rh", "wet"} <= given.keys() else likely(rng, key, given)


def told_by_one(rng: random.Random, given: dict[str, Any]) -> dict[str, Any]:
    """Nine times in ten air that can be: one of humidity, wet bulb, dew point, the latter two near the air's."""
    if rng.random() < 0.1:
        return given
    told = rng.choice([name for name in ("rh", "wet", "dew") if name in given])
    near = round(given["t"] - rng.uniform(-0.5, 12), 2) if told != "rh" else given["rh"] or 50.0
    return given | {name: near if name == told else None for name in ("rh", "wet", "dew") if name in given}


def likely(rng: random.Random, key: str, given: dict[str, Any]) -> dict[str, Any]:
    """Weighings and readings as they come, half of the time."""
    if rng.random() < 0.5:
        return given
    if key == "oven":
        return given | {"wet": round(given["dry"] * rng.uniform(0.98, 3), 2)}
    if key == "sample":
        return given | {"now": round(given["green"] * rng.uniform(0.4, 1.1), 2)}
    if key == "meter":
        return given | {"value": round(rng.uniform(6, 30), 1), "t": round(rng.uniform(-5, 35), 1)}
    return given


def by_the_core(key: str, given: dict[str, Any], woods: dict[str, Species]) -> dict[str, Any]:
    form = TOOLS[key]()
    if "wood" in given:
        given = given | {"wood": woods[given["wood"]]}
    try:
        answer = form.compute(given)
    except outlook.tools.RefusedError as refused:
        return {"field": refused.field_name, "code": refused.code, "figures": refused.figures}
    return {"figures": answer.figures, "notes": answer.notes}


def agree(browser: dict[str, Any], core: dict[str, Any], form: type[ToolForm]) -> bool:
    """The browser may reckon more than the form has room for."""
    if any(browser.get(name) != core.get(name) for name in ("field", "code")):
        return False
    if set(browser.get("notes") or ()) & set(form.notes) != set(core.get("notes") or ()):
        return False
    return all(near(value, browser["figures"][name]) for name, value in core["figures"].items())


def near(core: float | None, browser: float | None) -> bool:
    if core is None or browser is None:
        return core is browser
    return browser == pytest.approx(core, rel=TOLERANCE, abs=TOLERANCE)


@pytest.mark.parametrize("key", [key for key in TOOLS if key != "drying"])
def test_the_browser_comes_to_what_the_core_says(phone: Page, db: None, key: str) -> None:
    load_species()
    SpeciesFactory(shrinkage_radial_pct=None)
    woods = {row.key: row for row in Species.objects.all()}
    rng = random.Random(f"{SEED}{key}")
    curved = [row.key for row in woods.values() if row.meter_key]
    likely_woods = [*woods, *curved * 6]
    scales = [scale for scale, _name in outlook.meter_scales()]
    questions = [question(rng, key, likely_woods, scales) for _turn in range(QUESTIONS)]
    core = [by_the_core(key, given, woods) for given in questions]
    phone.goto("/sign-in/")
    found = phone.evaluate(IN_BROWSER, [key, questions, outlook.tools.phone_tables(woods.values())])
    wrong = [each for each in zip(questions, found, core, strict=True) if not agree(*each[1:], TOOLS[key])]
    assert wrong == []
    answered = sum("notes" in each for each in core)
    assert answered > QUESTIONS / 4, f"only {answered} of {QUESTIONS} questions had an answer"


@pytest.fixture
def book(live_server: Any) -> None:
    """Before anybody signs in, since the first page brings the copy."""
    load_species()
    PlaceFactory(name="Long shed")


@pytest.fixture
def yard(book: None, signed_in: Page) -> Page:
    """A phone with the book of species and a shed in its copy."""
    signed_in.goto("/tools/")
    settle(signed_in)
    return signed_in


def answer(page: Page) -> Any:
    return page.locator("[data-answer] .figure.big")


@pytest.mark.service_worker
def test_without_reception_a_calculator_checks_reckons_and_keeps_its_address(
    yard: Page, accessible: Callable[[Page], None], keep_picture: Callable[[Page, str], None], faults: list[str]
) -> None:
    heard = faults_of(yard)
    out_of_reach(yard)
    yard.goto("/tools/")
    keep_picture(yard, "tools_list")
    accessible(yard)
    yard.get_by_role("link", name="EMC from air").click()
    expect(yard.locator("h1")).to_have_text("EMC from air")
    yard.get_by_label("Air temperature").fill("21,1")
    yard.get_by_role("button", name="Reckon").click()
    expect(yard.locator(".error")).to_have_text("Give one of these: it tells how damp the air is.")
    yard.get_by_label("Relative humidity").fill("165")
    yard.get_by_role("button", name="Reckon").click()
    expect(yard.locator(".error")).to_have_text("Write a number from 0 to 100 %.")
    accessible(yard)
    keep_picture(yard, "tools_refused")
    yard.get_by_label("Relative humidity").fill("65")
    yard.get_by_role("button", name="Reckon").click()
    expect(answer(yard)).to_have_text("12.0\u202f%")
    keep_picture(yard, "tools_emc")
    yard.reload()
    expect(answer(yard)).to_have_text("12.0\u202f%")
    assert "rh=65" in yard.url
    accessible(yard)
    assert heard == []
    faults.clear()


@pytest.mark.service_worker
def test_without_reception_the_woods_come_from_the_copy(
    yard: Page, accessible: Callable[[Page], None], keep_picture: Callable[[Page, str], None], faults: list[str]
) -> None:
    query = "wood=norway_spruce&mc=60&thickness=50&width=200&length=5&count=40&to=18"
    yard.goto(f"/tools/mass/?{query}")
    online = yard.locator("[data-answer]").inner_text()
    out_of_reach(yard)
    yard.goto(f"/tools/mass/?{query}")
    expect(yard.locator("[data-answer]")).to_have_text(online, use_inner_text=True)
    expect(yard.get_by_text("Lift long or thick boards")).to_be_visible()
    keep_picture(yard, "tools_mass")
    accessible(yard)
    faults.clear()


@pytest.mark.service_worker
def test_a_what_if_that_was_asked_is_there_without_reception(
    yard: Page, accessible: Callable[[Page], None], keep_picture: Callable[[Page, str], None], faults: list[str]
) -> None:
    yard.goto("/tools/drying/")
    yard.get_by_label("Species").select_option("norway_spruce")
    yard.get_by_label("Place").select_option(label="Long shed")
    yard.get_by_label("Thickness").fill("45")
    yard.get_by_label("Target").fill("18")
    with yard.expect_response("**/tools/drying/table/**"):
        yard.get_by_role("button", name="Reckon").click()
    june = yard.locator("tr", has_text="June")
    online = june.locator("td").first.inner_text()
    keep_picture(yard, "tools_drying")
    accessible(yard)
    asked = yard.url
    out_of_reach(yard)
    yard.wait_for_timeout(300)  # the table is written once its answer has come
    yard.goto(asked)
    expect(yard.locator("h2")).to_have_text("Norway spruce, Long shed, 18\u202f%")
    expect(yard.locator(".chooser [aria-current]")).to_have_text("45\u202fmm")
    expect(june.locator("td").first).to_have_text(online)
    yard.get_by_role("link", name="80\u202fmm").click()
    expect(yard.locator("caption")).to_contain_text("80\u202fmm")
    keep_picture(yard, "tools_drying_offline")
    accessible(yard)
    faults.clear()


@pytest.mark.service_worker
def test_a_what_if_that_was_never_asked_needs_reception(yard: Page, faults: list[str]) -> None:
    out_of_reach(yard)
    yard.goto("/tools/drying/")
    expect(yard.get_by_text("This one needs reception")).to_be_visible()
    faults.clear()


@pytest.mark.service_worker
def test_without_reception_fractions_are_read_as_the_yard_reads_them(yard: Page, faults: list[str]) -> None:
    out_of_reach(yard)
    yard.goto("/tools/sawing/")
    yard.get_by_label("Species").select_option("norway_spruce")
    yard.locator("[name=mc]").fill("8")
    said = []
    for written in ("25.5", "25 1/2", "25-1/2", "51/2"):
        yard.locator("[name=size]").fill(written)
        yard.get_by_role("button", name="Reckon").click()
        expect(answer(yard)).to_be_visible()
        said.append(answer(yard).inner_text())
    assert said[0].endswith("mm")
    assert len(set(said)) == 1
    yard.locator("[name=size]").fill("1 1/0")
    yard.get_by_role("button", name="Reckon").click()
    expect(yard.locator(".error")).to_contain_text("Write a number")
    faults.clear()
