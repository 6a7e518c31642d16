"""A sensor device of a kiln."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kilnruns.models import Kiln, SensorDevice


class SensorForm(forms.ModelForm):
    class Meta:
        model = SensorDevice
        fields = ["kiln", "name", "by_mqtt", "silent_after_minutes"]
        help_texts = {
            "name": _("Where it hangs: rear wall, sample board 2, meter box."),
            "by_mqtt": _("Only if your broker asks for a password: anyone who may publish there can speak for it."),
            "silent_after_minutes": _("Some three times as long as it waits between two messages."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kilns = forms.ModelChoiceField(
            label=_("Kiln"), queryset=Kiln.objects.filter(retired=False).select_related("place"), empty_label=None
        )
        self.fields["kiln"] = kilns

    def clean_silent_after_minutes(self) -> int:
        minutes: int = self.cleaned_data["silent_after_minutes"]
        if not 2 <= minutes <= 1440:
            raise forms.ValidationError(_("Give 2 to 1440 minutes (a day)."))
        return minutes
