"""Where the browser finds the decoder for the camera."""

from django import template
from django.contrib.staticfiles import finders
from django.templatetags.static import static

register = template.Library()

DECODER = "vendor/qr/decode.js"


@register.simple_tag
def decoder() -> str:
    """Its address; nothing where `manage.py vendor` could not fetch it, or it came after collecting."""
    if not finders.find(DECODER):
        return ""
    try:
        return static(DECODER)
    except ValueError:
        return ""
