"""Frozen stacks, for the page of one."""

from datetime import date
from typing import Any

from django import template

from yard.models import Stack
from yard.outlook import frost_watches

register = template.Library()


@register.simple_tag
def frost_of(stack: Stack, today: date) -> list[dict[str, Any]]:
    """What to mind for frost, for yard/_watch.html."""
    return frost_watches(stack, today)
