"""Without a pointer: the menu that Escape closes. The main path is walked in test_main_path_by_keys.py."""

from playwright.sync_api import Page

from tests.browser.keys import Keys


def test_the_menu_behind_the_name_closes_by_escape_and_gives_the_focus_back(signed_in: Page) -> None:
    keys = Keys(signed_in)
    keys.tab_to("Signed in as")
    signed_in.keyboard.press("Enter")
    assert keys.press("Tab").name == "Setup"
    assert keys.press("Escape").name.startswith("Signed in as")
    assert signed_in.locator("details.who[open]").count() == 0
