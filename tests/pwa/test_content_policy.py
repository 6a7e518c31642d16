"""Nothing in a template needs what the content security policy forbids."""

import re
from pathlib import Path

import pytest
from django.conf import settings

TEMPLATES = sorted((Path(settings.BASE_DIR) / "templates").rglob("*.html"))
FORBIDDEN = {
    "a style attribute": re.compile(r"<[^>{%]*\sstyle\s*="),
    "a style element": re.compile(r"<style\b"),
    "a script without src": re.compile(r"<script(?![^>]*\bsrc=)"),
    "an event attribute": re.compile(r"<[a-z][^>]*\son[a-z]+\s*="),
    "hx-on": re.compile(r"\bhx-on\b"),
    "a script in an address": re.compile(r"""["']\s*(?:javascript|js):"""),
    "an unescaped value": re.compile(r"\|\s*safe\b|\bautoescape\s+off\b"),
    "another site's file": re.compile(r"""(?:src|href)=["'](?:https?:)?//"""),
}


def uncommented(path: Path) -> str:
    return re.sub(r"\{#.*?#\}", "", path.read_text())


def test_there_are_templates_to_look_at() -> None:
    assert len(TEMPLATES) > 10


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(settings.BASE_DIR)))
def test_a_template_keeps_to_the_policy(path: Path) -> None:
    found = [what for what, pattern in FORBIDDEN.items() if pattern.search(uncommented(path))]
    assert not found


@pytest.mark.parametrize(
    ("bad", "what"),
    [
        ('<p style="color:red">', "a style attribute"),
        ("<script>alert(1)</script>", "a script without src"),
        ('<button class="act" onclick="x()">', "an event attribute"),
        ("{{ note|safe }}", "an unescaped value"),
        ('<link href="https://example.org/a.css">', "another site's file"),
    ],
)
def test_the_patterns_find_what_they_are_for(bad: str, what: str) -> None:
    assert FORBIDDEN[what].search(bad)
