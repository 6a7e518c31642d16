"""What a person says about what was learned: why a stack is left out, what is reset and why."""

from typing import Any

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from yard.forms.reading import VoidForm
from yard.models import Place, Species, keptwords
from yard.outlook import Knowledge


class LeaveOutForm(VoidForm):
    """Why a stack shall teach nothing; the usual reasons at one tap."""

    KEPT = keptwords.LEFT_OUT
    USUAL = {**{why: _(words) for why, words in KEPT.items()}, "other": _("Something else")}
    why = forms.ChoiceField(
        label=_("Why leave it out?"),
        choices=list(USUAL.items()),
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose one, so that others know later.")},
    )


class PutBackForm(forms.Form):
    reason = forms.CharField(
        label=_("Why it counts after all"),
        max_length=200,
        error_messages={"required": _("Say in a few words why, so that others know later.")},
    )


class ResetForm(forms.Form):
    """`what` is "all", "species-3", "place-4" or "kind-3-4"."""

    what = forms.ChoiceField(
        label=_("What shall be forgotten?"), error_messages={"required": _("Choose what shall be forgotten.")}
    )
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("A new roof, trees felled, another meter, another way to stack."),
        error_messages={"required": _("Say in a few words why, so that others know later.")},
    )

    def __init__(self, *args: Any, known: Knowledge, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.objects: dict[str, tuple[Species | None, Place | None]] = {"all": (None, None)}
        labels: dict[str, Any] = {"all": _("Everything this yard and its kilns have learned")}
        for place in Place.objects.filter(given_up=False):
            self._offer(labels, f"place-{place.pk}", place.name, None, place)
        for species in dict.fromkeys(one.stack.species for one in known.told):
            self._offer(labels, f"species-{species.pk}", capfirst(str(species)), species, None)
        for species, place in dict.fromkeys((one.stack.species, one.place) for one in known.told):
            name = _("%(species)s in %(place)s") % {"species": capfirst(str(species)), "place": place}
            self._offer(labels, f"kind-{species.pk}-{place.pk}", name, species, place)
        field: Any = self.fields["what"]
        field.choices = [("", "–"), *labels.items()]

    def _offer(self, labels: dict[str, Any], key: str, name: str, species: Species | None, place: Place | None) -> None:
        labels[key], self.objects[key] = name, (species, place)

    def about(self) -> tuple[Species | None, Place | None]:
        return self.objects[self.cleaned_data["what"]]
