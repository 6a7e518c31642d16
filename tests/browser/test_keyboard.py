"""Without a pointer: the skip link, a mistyped reading and a good one, the menu that Escape closes, a visible focus."""

from collections.abc import Callable

from playwright.sync_api import Page

from tests.factories import StackFactory

FOCUS = """() => {
  const one = document.activeElement;
  const { outlineStyle, outlineWidth } = getComputedStyle(one);
  const ring = outlineStyle !== "none" && parseFloat(outlineWidth) >= 2;
  return { name: one.name || one.id || one.textContent.trim(), ring };
}"""


def press(page: Page, key: str) -> str:
    """Press a key; the name of what has the focus then, which must be seen."""
    page.keyboard.press(key)
    focus = page.evaluate(FOCUS)
    assert focus["ring"], focus
    return str(focus["name"])


def tab_to(page: Page, name: str) -> None:
    """By Tab alone; it must come within thirty stops."""
    for _turn in range(30):
        if press(page, "Tab") == name:
            return
    raise AssertionError(f"Tab never came to {name!r}")


def test_a_reading_by_keyboard_alone(signed_in: Page, accessible: Callable[[Page], None], faults: list[str]) -> None:
    stack = StackFactory()
    signed_in.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    assert press(signed_in, "Tab") == "Skip to the content"
    signed_in.keyboard.press("Enter")
    assert signed_in.evaluate("document.activeElement.id") == "main"
    tab_to(signed_in, "values")
    signed_in.keyboard.type("nine")
    signed_in.keyboard.press("Enter")
    wrong = signed_in.locator("[name=values][aria-invalid=true]")
    wrong.wait_for()
    assert all("422" in fault for fault in faults), "the browser notes each refusal, and nothing else"
    faults.clear()
    assert signed_in.evaluate("document.activeElement.name") == "values"
    described = (wrong.get_attribute("aria-describedby") or "").split()
    assert "nine" in " ".join(signed_in.locator(f"#{one}").inner_text() for one in described)
    accessible(signed_in)
    signed_in.keyboard.press("Control+A")
    signed_in.keyboard.type("21 22 21.5")
    signed_in.keyboard.press("Enter")
    signed_in.wait_for_url(f"**/stacks/{stack.code}/")
    assert signed_in.get_by_role("status").filter(has_text="Kept").count() == 1
    assert signed_in.evaluate("document.activeElement.id") == "messages", "so that it is read first"
    assert stack.readings.count() == 1


def test_the_menu_behind_the_name_closes_by_escape_and_gives_the_focus_back(signed_in: Page) -> None:
    signed_in.goto("/")
    summary = signed_in.locator("details.who > summary")
    summary.focus()
    signed_in.keyboard.press("Enter")
    assert press(signed_in, "Tab") == "Setup"
    signed_in.keyboard.press("Escape")
    assert signed_in.locator("details.who[open]").count() == 0
    assert summary.evaluate("one => one === document.activeElement")
