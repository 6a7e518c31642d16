"""A wood's name as it was kept, in the reader's language."""

from django import template

from yard.models.woodname import told

register = template.Library()
register.filter("as_wood", told)
