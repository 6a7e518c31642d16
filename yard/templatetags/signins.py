"""A sign-in's device in words, from what its browser calls itself."""

from django import template
from django.utils.translation import gettext as _

register = template.Library()
DEVICES = ("iPhone", "iPad", "Android", "Windows", "Macintosh", "CrOS", "Linux")
BROWSERS = ("Firefox", "FxiOS", "Edg", "CriOS", "Chrome", "Safari")
NAMES = {"Macintosh": "Mac", "CrOS": "Chromebook", "FxiOS": "Firefox", "Edg": "Edge", "CriOS": "Chrome"}
"""The first that stands in the text: each later one is also named by those before it."""


@register.filter
def device_words(agent: str) -> str:
    device, browser = _first(DEVICES, agent), _first(BROWSERS, agent)
    if device and browser:
        return _("%(browser)s on %(device)s") % {"browser": browser, "device": device}
    return device or browser or _("an unknown device")


@register.filter
def phone_kind(agent: str) -> str:
    """Whose words tell how to install: "apple", "android", or empty for others."""
    if _first(("iPhone", "iPad"), agent):
        return "apple"
    return "android" if "Android" in agent else ""


def _first(names: tuple[str, ...], agent: str) -> str:
    found = next((name for name in names if name in agent), "")
    return NAMES.get(found, found)
