"""The bar marks the place where the reader is."""

import pytest
from django.template import Context, Template
from django.test import RequestFactory

from config.templatetags.bar import place_of


@pytest.mark.parametrize(
    ("path", "place"),
    [("/", "today"), ("/T/6QF27MAB7K", "scan"), ("/stacks/7/readings/", "yard"), ("/kilns/", "kilns"), ("/setup/", "")],
)
def test_a_path_tells_its_place(path: str, place: str) -> None:
    assert place_of(path) == place


def drawn(path: str, **context: str) -> str:
    return Template("{% load bar %}{% bar %}").render(Context({"request": RequestFactory().get(path), **context}))


def test_one_place_is_marked_and_only_one() -> None:
    html = drawn("/stacks/7/")
    assert html.count("aria-current") == 1
    assert '<a href="/yard/" aria-current="true">' in html


def test_a_page_may_say_its_place_itself() -> None:
    assert '<a href="/kilns/" aria-current' in drawn("/stacks/7/", current="kilns")
