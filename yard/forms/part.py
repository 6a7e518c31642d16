"""Splitting a stack, and laying two together."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from yard.actions.stacks import why_not_join
from yard.fields.limits import LimitedIntegerField
from yard.fields.tagcode import TagCodeField
from yard.measures.told import metres, mm
from yard.models import Stack


class SplitForm(forms.Form):
    """For each tally line, how many of its boards go to the new stack."""

    def __init__(self, *args: Any, lines: list[tuple[int, int, int]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.tally = lines
        for number, (length_mm, width_mm, count) in enumerate(lines):
            size = {"count": count, "length": metres(length_mm), "width": mm(width_mm)}
            name = f"take-{number}"
            self.fields[name] = LimitedIntegerField(
                label=_("%(length)s × %(width)s") % size,
                min_value=0,
                max_value=count,
                required=False,
                widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
                error_messages={
                    "max_value": _("There are only %(count)s of these.") % size,
                    "invalid": _("Write how many boards, or nothing."),
                },
            )
            self.fields[name].unit = _("of %(count)s") % size  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        taken = sum(line[2] for line in self.lines)
        if not self.errors and taken == 0:
            self.add_error(None, _("Say how many boards go to the new stack."))
        if not self.errors and taken == sum(line[2] for line in self.tally):
            self.add_error(None, _("That is the whole stack; leave some boards, or move the stack instead."))
        return cleaned

    @property
    def lines(self) -> list[tuple[int, int, int]]:
        """What is taken, as tally lines."""
        taken = [(line, self.cleaned_data.get(f"take-{number}") or 0) for number, line in enumerate(self.tally)]
        return [(line[0], line[1], count) for line, count in taken if count]


class JoinForm(forms.Form):
    """The stack that these boards are laid on, by its tag's code: typed, or tapped in the list of those that fit."""

    into = TagCodeField(label=gettext_lazy("Code of the other stack"))

    def __init__(self, *args: Any, stack: Stack, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stack = stack
        self.other: Stack | None = None

    def clean_into(self) -> str:
        code = self.cleaned_data["into"]
        found = Stack.objects.select_related("species", "place", "joined_into").filter(tags__code=code).first()
        if found is None:
            raise forms.ValidationError(_("No stack bears that tag."))
        self.other = found.at_last
        reason = why_not_join(self.stack, self.other)
        if reason:
            raise forms.ValidationError(reason)
        return code
