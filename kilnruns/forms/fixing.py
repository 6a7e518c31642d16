"""What shall become of a stack: a small form for each way, one question each."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from kilnruns.models import Fixing, FixingKind, Kiln, Proposal
from kilnruns.templatetags.charges import wood_of
from yard.models import Stack
from yard.models.tagcode import normalise, shown

WEEKS = (1, 2, 4)


def day_field(label: Any, **kwargs: Any) -> forms.DateField:
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **kwargs)


class FixingForm(forms.Form):
    """`asks` is the field that a clash is told at; `made` the wish, once the form is valid."""

    asks = ""
    kind = FixingKind.HOLD
    reason = forms.CharField(label=_("Why"), max_length=120, required=False)

    def __init__(self, data: Any, *, stack: Stack, on: date, proposals: Sequence[Proposal]) -> None:
        super().__init__(data)
        self.stack, self.on, self.proposals = stack, on, proposals
        self.mine = next((one for one in proposals if stack.pk in {share.stack_id for share in one.shares.all()}), None)

    def made(self) -> Fixing:
        return Fixing(kind=self.kind, stack=self.stack, reason=self.cleaned_data["reason"], **self.said())

    def said(self) -> dict[str, Any]:
        raise NotImplementedError

    def day_ahead(self, name: str) -> date | None:
        day: date | None = self.cleaned_data.get(name)
        if day is not None and day < self.on:
            words = _("%(day)s is past; give today or a later day.") % {"day": date_format(day, "j F Y")}
            self.add_error(name, forms.ValidationError(words))
        return day


class IntoForm(FixingForm):
    """Into a charge of the plan, or into a kiln on a day of one's own."""

    asks, kind = "charge", FixingKind.INTO
    charge = forms.ChoiceField(label=_("Which charge?"), widget=forms.RadioSelect, required=False)
    kiln = forms.ModelChoiceField(
        Kiln.objects.none(), label=_("Kiln"), widget=forms.RadioSelect, required=False, empty_label=None
    )
    start_on = day_field(_("Start of the run"), required=False)
    field_order = ("charge", "kiln", "start_on", "reason")

    def __init__(self, data: Any, **given: Any) -> None:
        super().__init__(data, **given)
        ahead = [one for one in self.proposals if one.start_on >= self.on]
        self.fields["charge"].choices = [(str(one.pk), _charge_words(one)) for one in ahead]  # type: ignore[attr-defined]
        self.fields["kiln"].queryset = Kiln.objects.filter(retired=False).select_related("place")  # type: ignore[attr-defined]
        if self.mine:
            self.initial["charge"] = str(self.mine.pk)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        own = [name for name in ("kiln", "start_on") if cleaned.get(name)]
        if own == ["kiln"]:
            self.add_error("start_on", _("Say on which day too."))
        elif own == ["start_on"]:
            self.add_error("kiln", _("Say which kiln too."))
        elif not own and not cleaned.get("charge") and "charge" not in self.errors:
            self.add_error(
                "charge" if self.fields["charge"].choices else "kiln",  # type: ignore[attr-defined]
                _("Choose a charge, or give a kiln and a day."),
            )
        self.day_ahead("start_on")
        return cleaned

    def said(self) -> dict[str, Any]:
        given = self.cleaned_data
        if given["kiln"]:
            self.asks = "start_on"
            return {"kiln": given["kiln"], "start_on": given["start_on"]}
        chosen = next(one for one in self.proposals if str(one.pk) == given["charge"])
        return {"kiln": chosen.kiln, "start_on": chosen.start_on}


class HoldForm(FixingForm):
    """So many weeks from now, until a day, or until it is lifted: the buttons say which."""

    asks, kind, weeks = "until", FixingKind.HOLD, WEEKS
    until = day_field(_("Until which day?"), required=False)
    field_order = ("until", "reason")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        how = self.data.get("how", "")
        if how.isdecimal() and int(how) in WEEKS:
            cleaned["until"] = self.on + timedelta(weeks=int(how))
        elif how == "open":
            cleaned["until"] = None
        elif not cleaned.get("until") and "until" not in self.errors:
            self.add_error("until", _("Give the day from which it may go, or take one of the buttons."))
        self.day_ahead("until")
        return cleaned

    def said(self) -> dict[str, Any]:
        return {"until": self.cleaned_data["until"]}


class StartForm(FixingForm):
    """The day on which its charge starts, in whichever kiln."""

    asks, kind = "start_on", FixingKind.START
    start_on = day_field(_("On which day does its charge start?"))
    field_order = ("start_on", "reason")

    def __init__(self, data: Any, **given: Any) -> None:
        super().__init__(data, **given)
        if self.mine:
            self.initial["start_on"] = self.mine.start_on

    def clean(self) -> dict[str, Any]:
        self.day_ahead("start_on")
        return super().clean() or self.cleaned_data

    def said(self) -> dict[str, Any]:
        return {"start_on": self.cleaned_data["start_on"]}


class ApartForm(FixingForm):
    """A stack that goes along with it in the plan, or another by its tag."""

    asks, kind = "with_code", FixingKind.APART
    beside = forms.ChoiceField(label=_("In the plan it goes together with"), widget=forms.RadioSelect, required=False)
    with_code = forms.CharField(label=_("Or the other stack's tag"), max_length=20, required=False)
    field_order = ("beside", "with_code", "reason")

    def __init__(self, data: Any, **given: Any) -> None:
        super().__init__(data, **given)
        beside = [one for one in self.mine.shares.all() if one.stack_id != self.stack.pk] if self.mine else []
        self.others = {one.stack.code: one.stack for one in beside}
        words = [(one.stack.code, f"{wood_of([one])} · {shown(one.stack.code)}") for one in beside]
        self.fields["beside"].choices = words  # type: ignore[attr-defined]
        if not self.others:
            del self.fields["beside"]
            self.fields["with_code"].label = _("The other stack's tag")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        typed = normalise(cleaned.get("with_code") or "")
        if typed:
            cleaned["other"] = Stack.objects.drying().filter(code=typed).first()
            if cleaned["other"] is None:
                words = _("No stack on its way to the kiln bears %(code)s. Read the tag once more.")
                self.add_error("with_code", words % {"code": shown(typed)})
            elif cleaned["other"].pk == self.stack.pk:
                self.add_error("with_code", _("This is the stack itself; give the other one's tag."))
        elif cleaned.get("beside"):
            cleaned["other"] = self.others[cleaned["beside"]]
        elif not self.errors:
            self.add_error("with_code", _("Choose a stack above, or type the tag of the other one."))
        return cleaned

    def said(self) -> dict[str, Any]:
        return {"other": self.cleaned_data["other"]}


FORMS: dict[str, type[FixingForm]] = {form.kind: form for form in (IntoForm, HoldForm, StartForm, ApartForm)}


def _charge_words(one: Proposal) -> Any:
    words = {"kiln": one.kiln, "day": date_format(one.start_on, "j F"), "wood": wood_of(one.shares.all())}
    return _("%(kiln)s from %(day)s: %(wood)s") % words
