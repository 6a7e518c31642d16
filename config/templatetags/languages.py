"""The choice of language on pages before signing in; in which one, and in which units, a page is."""

from typing import Any, NamedTuple
from urllib.parse import urlencode

from django import template
from django.conf import settings
from django.utils import translation

from config.middleware.language import PARAMETER
from yard.measures.system import FIELD, told

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


@register.simple_tag
def reader_query() -> str:
    """Whose shell a page's worker keeps: what its address says of language and units."""
    return urlencode({PARAMETER: translation.get_language() or settings.LANGUAGE_CODE, FIELD: told()})
