"""The key that a page's form is sent under."""

from uuid import uuid4

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag
def receipt_key() -> SafeString:
    """A hidden field with a fresh key: a form tapped twice is applied once."""
    return format_html('<input type="hidden" name="key" value="{}">', uuid4())
