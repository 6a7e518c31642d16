"""A wood's name as it was kept, in the reader's language."""

from django import template
from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

from yard.models.woodname import told

register = template.Library()
register.filter("as_wood", told)
REGIONS = frozenset({_("Europe"), _("North America")})


@register.filter
def as_region(kept: str) -> str:
    """Where a wood of the book grows; one of somebody's own as they wrote it."""
    return gettext(kept) if kept in REGIONS else kept
