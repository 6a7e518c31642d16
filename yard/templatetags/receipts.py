"""What the form of a page is sent under: its key, and what the phone's outbox needs to know of it."""

from uuid import uuid4

from django import template
from django.forms.utils import flatatt
from django.utils.html import format_html
from django.utils.safestring import SafeString

from yard.measures.told import thick
from yard.models import Stack, Tag
from yard.models.tagcode import shown

register = template.Library()


@register.simple_tag
def receipt_key() -> SafeString:
    """A hidden field with a fresh key: a form tapped twice is applied once."""
    return format_html('<input type="hidden" name="key" value="{}">', uuid4())


@register.simple_tag
def outbox(title: str, about: Stack | Tag | str = "", **more: str) -> SafeString:
    """Attributes of a form that the phone keeps until it has arrived (js/outbox_forms.js).

    `title`: what the form records, in words; `about`: the stack or blank tag that it concerns, or words. More:
    `button` (only a submit by the button of that name is kept), `page` (address where it can be mended, if not the
    page's own), `then` (where to go when it is kept but can't be sent yet, if not to the stack), `behind` (it is not
    sent before what waits for addresses that begin so), `seen="no"` (leaves out what state of the stack the page
    shows, and its query).
    """
    attributes: dict[str, str | bool] = {"data-outbox": True, "data-outbox-title": title}
    if isinstance(about, Stack | Tag):
        attributes["data-subject"] = about.code
    if isinstance(about, Stack) and more.get("seen") != "no":
        attributes["data-seen"] = version(about)
    attributes["data-outbox-about"] = in_words(about)
    names = {"button": "data-outbox-button", "page": "data-page", "then": "data-then", "behind": "data-behind"}
    attributes |= {names[name]: value for name, value in more.items() if name in names}
    return flatatt(attributes)


def in_words(about: Stack | Tag | str) -> str:
    """What a form is about, as people know it: "ash 27 mm ABC DEF GHJK"."""
    if isinstance(about, Stack):
        return f"{about.species} {thick(about.thickness_mm)} {shown(about.code)}"
    return shown(about.code) if isinstance(about, Tag) else str(about)


def version(stack: Stack) -> str:
    """The state of a stack: the key of what last happened to it."""
    return str(stack.events.order_by("-pk").values_list("pk", flat=True).first() or "")
