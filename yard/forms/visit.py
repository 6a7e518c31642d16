"""What every visit's form has, whatever the method."""

from datetime import date, datetime, time
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from yard.models import Stack


class VisitForm(forms.Form):
    """What every method has: when, and which board if one bears a tag of its own."""

    taken_on = forms.DateField(
        label=_("Taken on"),
        required=False,
        help_text=_("Today, unless you say so."),
        widget=forms.DateInput({"type": "date"}),
    )

    def __init__(self, *args: Any, stack: Stack, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stack, self.now = stack, now

    def clean_taken_on(self) -> date | None:
        day, today = self.cleaned_data["taken_on"], timezone.localtime(self.now).date()
        if day and day > today:
            raise ValidationError(_("That day is still to come."))
        if day and day < self.stack.cut_on:
            raise ValidationError(
                _("The wood was sawn on %(day)s, after that.") % {"day": self.stack.cut_on.isoformat()}
            )
        return day

    def taken_at(self) -> datetime:
        """Now, or the noon of another day."""
        day = self.cleaned_data.get("taken_on")
        if not day or day == timezone.localtime(self.now).date():
            return self.now
        return timezone.make_aware(datetime.combine(day, time(12)))

    def visit(self) -> dict[str, Any]:
        """The keyword arguments of `add_reading` that this form knows."""
        return {"taken_at": self.taken_at(), "raw": self.raw()}

    def raw(self) -> list[Any]:
        raise NotImplementedError
