"""The preview component in a real browser: it follows the form as one types, and nothing else is sent."""

from typing import Any
from urllib.parse import parse_qs

import pytest
from django.template.loader import render_to_string

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_preview_follows_what_is_typed(phone: Any, live_server: Any) -> None:
    page = phone.new_page()
    page.goto(f"{live_server.url}/offline")
    asked: list[str] = []
    page.route("**/preview/", lambda route: (asked.append(route.request.post_data), answer(route, asked))[1])
    preview = render_to_string("components/preview.html", {"url": "/preview/", "fallback": "not yet"})
    form = f'<form><label for="a">Thickness</label><input id="a" name="thickness">{preview}</form>'
    page.evaluate("(html) => { document.querySelector('main').innerHTML = html; htmx.process(document.body); }", form)
    page.get_by_text("answer 1").wait_for()
    page.get_by_label("Thickness").press_sequentially("27", delay=20)
    page.get_by_text("answer 2").wait_for()
    assert parse_qs(asked[-1]) == {"thickness": ["27"]}


def answer(route: Any, asked: list[str]) -> None:
    route.fulfill(status=422, content_type="text/html", body=f"<p>answer {len(asked)}</p>")
