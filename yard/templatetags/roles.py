"""{% if user|may:"paper_new" %}: whether the reader may send it, or see it; by the table of yard/actions/roles.py."""

from typing import Any

from django import template

from yard.actions.roles import may, may_see, role_of

register = template.Library()
register.filter("may", may)


@register.filter
def sees(user: Any, name: str) -> bool:
    """Whether the page of this address is open to the reader, though they may not change what it shows."""
    return bool(getattr(user, "is_authenticated", False)) and may_see(role_of(user), name)
