"""Signing in as people do: by the form."""

from typing import Any

from playwright.sync_api import Page

from tests.factories import PASSWORD


def sign_in(page: Page, user: Any) -> None:
    """From the sign-in page to Today."""
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(user.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
