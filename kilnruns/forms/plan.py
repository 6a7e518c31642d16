from django import forms
from django.utils.translation import gettext_lazy as _

WEEKS = [(4, _("4 weeks")), (6, _("6 weeks")), (8, _("8 weeks")), (12, _("12 weeks"))]


class PlanForm(forms.Form):
    """How far to plan, and how sure."""

    weeks = forms.TypedChoiceField(
        label=_("Look ahead"), choices=WEEKS, coerce=int, initial=8, widget=forms.RadioSelect
    )
    careful = forms.BooleanField(label=_("Sure plan: only stacks that are ready in nine cases of ten"), required=False)
