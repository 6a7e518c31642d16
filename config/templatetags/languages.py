"""The choice of language on pages before signing in."""

from typing import Any, NamedTuple
from urllib.parse import urlencode

from django import template
from django.conf import settings
from django.utils import translation

from config.middleware.language import PARAMETER

register = template.Library()


class Choice(NamedTuple):
    """A language, and the address of the same page in it."""

    code: str
    name: str
    address: str
    here: bool


@register.inclusion_tag("components/languages.html", takes_context=True)
def languages(context: dict[str, Any]) -> dict[str, Any]:
    """`next`, the page wanted after signing in, is kept."""
    wanted = {"next": str(context["next"])} if context.get("next") else {}
    spoken = translation.get_language()
    found = [
        Choice(code, name, f"?{urlencode({PARAMETER: code, **wanted})}", code == spoken)
        for code, name in settings.LANGUAGES
    ]
    return {"languages": found}
