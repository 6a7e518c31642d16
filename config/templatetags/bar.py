"""The five places of the bar, with the one where the reader is marked."""

from typing import Any, NamedTuple

from django import template
from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

register = template.Library()

LABELS: dict[str, Promise] = {
    "today": _("Today"),
    "scan": _("Scan"),
    "yard": _("Yard"),
    "kilns": _("Kilns"),
    "needs": _("Needs"),
}
# Pages below a place live under paths of their own; a page may say otherwise by the context variable `current`.
SEGMENTS = {
    "": "today",
    "scan": "scan",
    "t": "scan",
    "yard": "yard",
    "stacks": "yard",
    "boards": "yard",
    "papers": "yard",
    "readings": "yard",
    "kilns": "kilns",
    "charges": "kilns",
    "closures": "kilns",
    "proposals": "kilns",
    "plan": "kilns",
    "plans": "kilns",
    "runs": "kilns",
    "needs": "needs",
    "sawing": "needs",
}


class Place(NamedTuple):
    """One entry of the bar: url name, label, whether the reader is somewhere in it, and whether on its own page."""

    name: str
    label: Promise
    here: bool
    exact: bool


def place_of(path: str) -> str:
    """The bar's place that a path belongs to; an empty string when none (setup, for one)."""
    return SEGMENTS.get(path.strip("/").split("/")[0].lower(), "")


@register.inclusion_tag("components/bar.html", takes_context=True)
def bar(context: dict[str, Any]) -> dict[str, Any]:
    """Draw the bar. The place is `current` of the context or else told from the path."""
    request: HttpRequest | None = context.get("request")
    path = request.path if request else "-"
    current = context.get("current") or place_of(path)
    match = getattr(request, "resolver_match", None)
    exact = getattr(match, "url_name", None)
    return {"places": [Place(name, label, name == current, name == exact) for name, label in LABELS.items()]}
