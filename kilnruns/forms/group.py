"""Drying groups: one of the owner's own, and where a species belongs."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kilnruns.models import GroupMember, OwnGroup
from yard.models import DryingGroup, Species


class OwnGroupForm(forms.ModelForm):
    """A group of one's own, and whose schedule stands in for woods that have none."""

    class Meta:
        model = OwnGroup
        fields = ["name", "base"]
        widgets = {"base": forms.RadioSelect}
        help_texts = {"base": _("For woods without a published schedule of their own.")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["base"].choices = DryingGroup.choices  # type: ignore[attr-defined]

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        taken = {str(word).casefold() for choice in DryingGroup.choices for word in choice}
        others = OwnGroup.objects.exclude(pk=self.instance.pk).filter(name__iexact=name)
        if name.casefold() in taken or others.exists():
            raise forms.ValidationError(_("There is a group of this name already; choose another name."))
        if "@" in name:
            raise forms.ValidationError(_("Leave out the @ sign."))
        return name


class MoveForm(forms.Form):
    """Into which group a species goes."""

    group = forms.ChoiceField(label=_("It dries with"), widget=forms.RadioSelect)

    def __init__(
        self, data: Any = None, *, species: Species, own: Iterable[OwnGroup], member: GroupMember | None
    ) -> None:
        now = species.drying_group if member is None else member.book or f"own-{member.own_id}"
        super().__init__(data, initial={"group": now})
        self.own = {f"own-{one.pk}": one for one in own}
        book = [(key, self._label(key, label, species)) for key, label in DryingGroup.choices]
        self.fields["group"].choices = [*book, *((key, one.name) for key, one in self.own.items())]  # type: ignore[attr-defined]

    def _label(self, key: str, label: Any, species: Species) -> Any:
        return _("%(group)s, as in the book") % {"group": label} if key == species.drying_group else label

    @property
    def chosen(self) -> OwnGroup | str:
        key = self.cleaned_data["group"]
        return self.own.get(key, key)
