"""Names in the order in which the reader's language has them, whatever order the database would give."""

import unicodedata
from collections.abc import Iterator
from typing import Any

from django import forms
from django.forms.models import ModelChoiceIterator
from django.utils.translation import get_language

# Swedish has å, ä and ö as letters of their own after z (the signs that follow z in ASCII stand for them here); German
# (DIN 5007-1) and English take them for a and o.
SWEDISH = str.maketrans({"å": "{", "ä": "|", "æ": "|", "ö": "}", "ø": "}"})


def in_order(name: Any) -> str:
    """A key to sort by."""
    text = str(name).casefold()
    if (get_language() or "").startswith("sv"):
        text = text.translate(SWEDISH)
    return "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))


class _InOrder(ModelChoiceIterator):
    def __iter__(self) -> Iterator[Any]:
        first, *rest = list(super().__iter__()) if self.field.empty_label is not None else [None, *super().__iter__()]
        if first is not None:
            yield first
        yield from sorted(rest, key=lambda choice: in_order(choice[1]))


class NamesField(forms.ModelChoiceField):
    """A choice among rows by their names, which are read in the reader's language."""

    iterator = _InOrder
