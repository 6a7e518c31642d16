"""At how many places meter pins are left in each stack of a charge: a field a stack."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kilnruns.forms.run_record import PIN_VALUES, wood_of
from kilnruns.models import ChargeStack
from yard.fields.numbers import WholeField
from yard.models.tagcode import shown


class PinsLeftForm(forms.Form):
    """`items` are the charge's stacks that are to be followed through the run."""

    def __init__(self, *args: Any, items: Sequence[ChargeStack], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.items = items
        for item in items:
            words = {"wood": wood_of(item.stack), "code": shown(item.stack.code)}
            field = WholeField(label=_("%(wood)s, %(code)s") % words, required=False, min_value=0, max_value=PIN_VALUES)
            field.unit = _("places")
            self.fields[f"places_{item.pk}"] = field
            self.initial.setdefault(f"places_{item.pk}", item.pins_left or None)

    @property
    def places(self) -> dict[int, int]:
        """By the stack's row in the charge."""
        return {item.pk: self.cleaned_data[f"places_{item.pk}"] or 0 for item in self.items}
