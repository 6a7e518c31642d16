"""What a kept form recorded, in words."""

from django import template
from django.urls import Resolver404, resolve
from django.utils.translation import gettext_lazy as _

from yard.models import Receipt
from yard.receipts.others import title_of
from yard.receipts.reworded import reworded

register = template.Library()

TITLES = {
    "reading_new": _("Reading"),
    "stack_new": _("New stack"),
    "stack_edit": _("Correction"),
    "stack_move": _("Move"),
    "stack_note": _("Note"),
    "stack_split": _("Split"),
    "stack_join": _("Join"),
    "stack_use": _("Used up"),
    "stack_boards": _("Board with its own tag"),
    "tag_board": _("Board with its own tag"),
    "stack_samples": _("Sample board"),
    "stack_retag": _("New tag"),
    "board_retag": _("New tag"),
    "tag_replaces": _("New tag"),
}
CLOCK = {
    "clock_off": _("The phone's clock was wrong; the time is put right by ours."),
    "clock_doubted": _("The phone's clock was changed meanwhile; the time is when it arrived."),
}


@register.filter
def recorded(receipt: Receipt) -> str:
    """What it is: "Reading", "New stack"."""
    try:
        name = resolve(receipt.path.split("?")[0]).url_name or ""
    except Resolver404:
        name = ""
    return title_of(name) or str(TITLES.get(name, _("Entry")))


@register.filter
def words_sent(receipt: Receipt) -> list[tuple[str, str]]:
    """What was typed, by its fields' names."""
    return reworded(receipt.words)


@register.filter
def clock_sentences(receipt: Receipt) -> list[str]:
    """What is to say about the time that it was recorded."""
    return [str(CLOCK[code]) for code in receipt.clock if code in CLOCK]
