"""Steps in words: where they are harder than proposed, and what rules each of them in the model's run."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kilnruns.templatetags.closing_figures import number, pct_short
from yard.measures.told import celsius

register = template.Library()

RULERS = {
    "heating_up": gettext_lazy("warming up"),
    "heater": gettext_lazy("the heater gives no more"),
    "vents": gettext_lazy("the vents let out no more"),
    "leak": gettext_lazy("leaks or open vents: the air is drier than wanted"),
}


UNSOURCED = "common practice, no source"


@register.filter
def as_source(kept: str) -> str:
    """Where a schedule comes from: a publication by its own name, in whatever language; what is none, in words."""
    return kept.replace(UNSOURCED, _("common practice, no source"))


@register.filter
def harder_words(one: Mapping[str, Any]) -> str:
    """ "From 30 %: 4 K warmer, air 1.8 points of EMC drier"."""
    said = []
    if one["warmer_k"]:
        said.append(_("%(warmer)s K warmer") % {"warmer": number(one["warmer_k"], 0)})
    if one["drier_pct"]:
        said.append(_("air %(drier)s points of EMC drier") % {"drier": number(one["drier_pct"], 1)})
    start = _("From the start") if one["from_pct"] is None else _("From %(pct)s") % {"pct": pct_short(one["from_pct"])}
    return f"{start}: {', '.join(said)}"


REASONS = {
    "wettest": gettext_lazy("the wettest"),
    "slowest": gettext_lazy("the slowest to dry"),
    "driest": gettext_lazy("the driest"),
    "share": gettext_lazy("much of the charge"),
}


@register.filter
def sample_reasons(reasons: list[str]) -> str:
    """Why a stack gets sample boards: "the wettest, much of the charge"."""
    return ", ".join(str(REASONS[one]) for one in dict.fromkeys(reasons))


@register.filter
def rulers(run: Mapping[str, Any]) -> list[str]:
    """Of each step that something else than the schedule rules: "Step 2, 3.4 days: the heater gives no more"."""
    rows = zip(run.get("ruled_by_step", ()), run.get("days_by_step", ()), strict=False)
    return [
        _("Step %(n)d, %(days)s days: %(what)s.") % {"n": step, "days": number(days, 1), "what": RULERS[ruled]}
        for step, (ruled, days) in enumerate(rows, 1)
        if ruled in RULERS
    ]


@register.filter
def not_held_words(one: Mapping[str, Any]) -> str:
    """Air that this kiln does not hold: "Step 3, 1.4 days: called for is EMC 8.1 %, held about 10.2 %."."""
    name = _("Step %(n)d") % {"n": one["step"]} if one["step"] else _("Equalising")
    words = {"days": number(one["days"], 1), "phase": name}
    said = [_("%(phase)s, %(days)s days.") % words]
    if one["held_c"] < one["called_c"] - 0.5:
        warm = {"called": celsius(one["called_c"]), "held": celsius(one["held_c"])}
        said.append(_("Called for are %(called)s, it comes to about %(held)s.") % warm)
    damp = {"called": number(one["called_emc_pct"], 1), "held": number(one["held_emc_pct"], 1)}
    if one["held_emc_pct"] > one["called_emc_pct"] + 0.5:
        said.append(
            _("Called for is air of %(called)s %% EMC, it holds about %(held)s %%: too damp, so it dries slower.")
            % damp
        )
    elif one["held_emc_pct"] < one["called_emc_pct"] - 0.5:
        said.append(
            _("Called for is air of %(called)s %% EMC, it holds about %(held)s %%: too dry, so it dries harder.") % damp
        )
    return " ".join(said)
