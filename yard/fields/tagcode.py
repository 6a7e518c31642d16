"""A tag's code as people type it or a scanner reads it, and what to look at where it is none."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from yard.models.tagcode import LENGTH, TagCodeError, check


def hint(error: TagCodeError) -> str:
    """Why a text is no tag code and what to look at, in a sentence or two."""
    if error.code == "character":
        could_be = get_text_list(list(error.could_be), _("or"))
        text = _("The code has no “%(character)s” in it.") % {"character": error.character}
        return f"{text} {_('Is it %(letters)s?') % {'letters': could_be}}" if could_be else text
    if error.code == "length":
        count = len(error.text)
        counted = ngettext("this is %(n)d", "these are %(n)d", count) % {"n": count}
        return _("A code has %(length)d characters; %(counted)s.") % {"length": LENGTH, "counted": counted}
    return _("One character is wrong, or two neighbours are swapped. Compare it with the tag, group by group.")


class TagCodeField(forms.CharField):
    """A tag's code in any case, with or without gaps, or a tag's whole address."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=200, **kwargs)
        attrs = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false", "class": "code"}
        self.widget.attrs |= attrs

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return text
        try:
            return check(text)
        except TagCodeError as error:
            raise ValidationError(hint(error), code=error.code) from error
