"""What the figures at hand mean, folded away below them."""

from typing import Any

from django import template

from yard.explained import EXPLAINED

register = template.Library()


@register.inclusion_tag("components/explain.html")
def explain(*keys: str) -> dict[str, Any]:
    """Draw it for these figures, in the order of the page."""
    return {"figures": [EXPLAINED[key] for key in keys]}
