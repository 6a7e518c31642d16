from django import forms
from django.utils.translation import gettext_lazy as _

WEEKS = [(4, _("4 weeks")), (6, _("6 weeks")), (8, _("8 weeks")), (12, _("12 weeks")), (16, _("16 weeks"))]


class PlanForm(forms.Form):
    """How far to plan, how sure, and how near to the plan in force."""

    weeks = forms.TypedChoiceField(
        label=_("Look ahead"), choices=WEEKS, coerce=int, initial=8, widget=forms.RadioSelect
    )
    freely = forms.BooleanField(
        label=_("Plan freely: move whatever brings more, and say what keeping near to the plan in force would bring"),
        required=False,
    )
    careful = forms.BooleanField(
        label=_("Sure plan: only stacks that are ready in nine cases of ten"),
        help_text=_(
            "Without it, the likely plan: a stack goes on the day by which it is ready in one case of two, and its "
            "run is counted from its likely moisture. The sure plan waits for the day by which nine of ten would be "
            "ready, and counts its runs from the wet side: it starts later and leaves more room for error."
        ),
        required=False,
    )


def weeks_of(horizon_days: int) -> int:
    """The choice nearest to a plan's horizon, to make it anew."""
    return min((weeks for weeks, _label in WEEKS), key=lambda weeks: abs(7 * weeks - horizon_days))
