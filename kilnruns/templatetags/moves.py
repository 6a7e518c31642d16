"""Stacks by name where a plan kept only their codes."""

from collections.abc import Mapping
from typing import Any

from django import template

register = template.Library()


@register.filter
def stack_of(stacks: Mapping[str, Any], code: str) -> Any:
    """The stack of this code, None where it is gone."""
    return stacks.get(code)
