"""The choice of a wood in a calculator, by the key that its address holds."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.naming import in_order
from yard.models import Species


class WoodField(forms.ChoiceField):
    """A species of the book, cleaned to its row. Its choices come by `offer`; without reception, from the copy."""

    default_error_messages = {
        "required": _("Choose the species."),
        "invalid_choice": _("No such species is in the book; choose one."),
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(label=_("Species"), choices=[("", _("Choose the species"))], **kwargs)
        self.widget.attrs["data-woods"] = ""
        self.rows: dict[str, Species] = {}

    def offer(self, rows: dict[str, Species]) -> None:
        self.rows = rows
        self.choices = [("", _("Choose the species")), *((key, row.name) for key, row in rows.items())]

    def clean(self, value: Any) -> Any:
        return self.rows.get(super().clean(value))


class OfWood:
    """A calculator that asks for a species: `woods=True` offers the book, in one query."""

    by_copy = True

    def __init__(self, *args: Any, woods: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if woods:
            rows = {row.key: row for row in sorted(Species.objects.all(), key=in_order)}
            self.fields["wood"].offer(rows)  # type: ignore[attr-defined]
