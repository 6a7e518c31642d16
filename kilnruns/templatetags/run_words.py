"""Words about a run in hand: the next thing to do, and what to mind."""

from datetime import datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kilnruns.models import Phase
from yard.measures.told import celsius, kelvin

register = template.Library()

VENTS = {
    "open": gettext_lazy("open the vents further"),
    "shut": gettext_lazy("close the vents further"),
    "keep": gettext_lazy("leave the vents as they are"),
}
SURE = {
    "sure": gettext_lazy("Sure: it was measured."),
    "likely": gettext_lazy("Likely: look again before you change much."),
    "perhaps": gettext_lazy("Perhaps: too little is known to be sure."),
}
VERBS = {
    "no_schedule": gettext_lazy("Weigh and measure as you think fit"),
    "sample": gettext_lazy("Weigh the sample boards now"),
    "warm_up": gettext_lazy("Warm up to %(dry)s, wet bulb %(wet)s"),
    "weigh": gettext_lazy("Weigh the samples now"),
    "go_on": gettext_lazy("Go to step %(step)s: %(dry)s, wet bulb %(wet)s"),
    "back": gettext_lazy("Go back to step %(step)s: %(dry)s, wet bulb %(wet)s"),
    "equalise": gettext_lazy("Equalise: %(dry)s, wet bulb %(wet)s"),
    "condition": gettext_lazy("Condition: %(dry)s, wet bulb %(wet)s"),
    "cool": gettext_lazy("Heater off: let it cool, fans on"),
    "unload": gettext_lazy("Unload it"),
    "wait": gettext_lazy("Nothing to change now"),
    "stress_test": gettext_lazy("Cut a stress test now"),
    "look_again": gettext_lazy("Look at the prongs again"),
    "hold": gettext_lazy("Hold the conditioning air: %(dry)s, wet bulb %(wet)s"),
    "steam": gettext_lazy("Steam for 2 h before heating on: %(dry)s, wet bulb %(wet)s"),
    "steam_on": gettext_lazy("Steaming: hold %(dry)s, wet bulb %(wet)s"),
    "steam_over": gettext_lazy("End the steaming, then step %(step)s: %(dry)s, wet bulb %(wet)s"),
}
# By what tells of the wood, where it is not boards alone.
MEASURE = {
    "pins": {
        "sample": gettext_lazy("Read the pins in the wood now"),
        "weigh": gettext_lazy("Read the pins in the wood now"),
        "again": gettext_lazy("Read the pins again %(when)s."),
    },
    "both": {
        "sample": gettext_lazy("Weigh the sample boards and read the pins now"),
        "weigh": gettext_lazy("Weigh the samples and read the pins now"),
        "again": gettext_lazy("Weigh and read the pins again %(when)s."),
    },
}
WHY = {
    "no_schedule": gettext_lazy("This charge has no schedule of its own, so no step can be told."),
    "sample": gettext_lazy("Without a moisture nobody knows which step it is in. Weigh sample boards, or take pins."),
    "warm_up": gettext_lazy("Vents shut, all heat on; keep the air damp until the wood is warm."),
    "go_on": gettext_lazy("The wetter half of the samples is at %(controlling)s %%."),
    "back": gettext_lazy("The wetter half of the samples is at %(controlling)s %%: the kiln is set ahead of the wood."),
    "equalise": gettext_lazy(
        "The driest sample is at %(driest)s %%. Hold air of %(emc)s %% EMC until the wettest, now at "
        "%(wettest)s %%, has come down to the target."
    ),
    "condition": gettext_lazy(
        "The wettest sample is at %(wettest)s %%. Air of %(emc)s %% EMC takes the stress out; the stress test"
        " ends it, not the clock."
    ),
    "cool": gettext_lazy("The wettest sample is at %(wettest)s %%. Opened hot, the wood checks."),
    "stress_test": gettext_lazy("Conditioned for %(hours)s hours: the test says whether it is enough, not the clock."),
    "look_again": gettext_lazy("They have rested a day: what they do now tells of the moisture left in the core."),
    "hold": gettext_lazy("Conditioned for %(hours)s hours; hold air of %(emc)s %% EMC."),
    "steam": gettext_lazy(
        "Vents shut, fans on, no hotter than the step. It softens the set shell, so that the core can dry on; then "
        "note it as steaming. How long and from when: common practice, no source."
    ),
    "steam_on": gettext_lazy("Vents shut, fans on. Longer only wets the shell again."),
    "steam_over": gettext_lazy(
        "The 2 hours are over. Bring the wet bulb down slowly, over some hours, and note the step."
    ),
    "unload": gettext_lazy("It has cooled to within %(near)s of the air outside."),
}
WATCHES = {
    "too_fast": gettext_lazy(
        "%(about)s loses %(loss_pct_per_day)s %% a day; its wood bears %(safe_pct_per_day)s. Make the air "
        "damper: close the vents, lower the heat, slow the fans; stay at this step."
    ),
    "lags": gettext_lazy(
        "%(about)s lags: %(moisture_pct)s %%, the others %(others_pct)s. Look whether air reaches it; the "
        "steps follow the wetter half."
    ),
    "no_record": gettext_lazy("Nothing noted for %(days)s days. Go and look at the kiln, and weigh."),
    "silent": gettext_lazy(
        "The sensor %(about)s has sent nothing for %(hours)s hours. Look at its power and its network; read "
        "the air yourself meanwhile."
    ),
    "fans_off": gettext_lazy(
        "The fans are off: without moving air the wood dries unevenly and may mould. Find out why; heater off"
        " until they run."
    ),
    "kiln_too_hot": gettext_lazy(
        "%(dry_bulb_c)s is above this kiln's highest, %(most_c)s. Switch the heater off and look for the fault."
    ),
    "wood_too_hot": gettext_lazy(
        "%(dry_bulb_c)s is hotter than wood so wet bears; the schedule has %(most_c)s here. Lower the "
        "heat: hot wet wood may collapse inside."
    ),
    "stress": gettext_lazy(
        "The model's stress index for this run comes to %(index)s; above 0.8 mind it, above 1.2 it is too "
        "hard (common practice, no source). Damper air in the first steps lowers it."
    ),
    "stress_ahead": gettext_lazy(
        "In this air the stress in %(about)s comes to %(ahead)s within a day (now %(index)s; above 0.8 mind it, above "
        "1.2 it is too hard; common practice, no source). Make the air damper: close the vents, lower the heat."
    ),
    "stress_past": gettext_lazy(
        "The stress in %(about)s came to %(worst)s, %(hours)s hours after the start: look for checks, and condition "
        "well at the end. Now it is %(index)s."
    ),
    "stress_past_plain": gettext_lazy(
        "The stress in %(about)s came to %(worst)s, %(hours)s hours after the start: look for checks. This kiln adds "
        "no moisture, so the stress stays: go on no harder, and before it is sawn thinner or planed on one side, cut a "
        "stress test. Now it is %(index)s."
    ),
    "air_dry": gettext_lazy(
        "The air gives %(emc_pct)s %% EMC, the schedule wants %(wanted_pct)s. Close the vents or lower the "
        "heat: the shell dries too hard."
    ),
    "air_damp": gettext_lazy(
        "The air gives %(emc_pct)s %% EMC, the schedule wants %(wanted_pct)s. Open the vents further; it costs days."
    ),
    "heater_steps_off": gettext_lazy(
        "%(dry_bulb_c)s, called for %(wanted_c)s: %(on)s of %(steps)s heater steps are on. Put on another, or wait."
    ),
    "heater_limit": gettext_lazy(
        "%(dry_bulb_c)s, called for %(wanted_c)s, with all of the heater on: it bears no more while the "
        "wood gives off so much water. It dries slower; leave the vents less open."
    ),
    "heater_short": gettext_lazy(
        "%(dry_bulb_c)s, called for %(wanted_c)s. Note how many heater steps are on, to see why."
    ),
}
WHOLE = {"on", "steps", "hours"}


@register.filter
def next_verb(one: Any) -> str:
    words = {} if one.setting is None else _air(one.setting)
    if one.code == "steam":
        words |= {name: celsius(one.figures[f"steam_{name}_c"]) for name in ("dry", "wet")}
    return str(MEASURE.get(one.by, {}).get(one.code, VERBS[one.code])) % words


def _air(setting: Any) -> dict[str, str]:
    dry, wet = (celsius(value) for value in (setting.dry_bulb_c, setting.wet_bulb_c))
    return {"dry": dry, "wet": wet, "step": str(setting.step or ""), "emc": number_format(round(setting.emc_pct, 1), 1)}


@register.filter
def next_why(one: Any) -> str:
    """The reasons of the next thing with their figures, in sentences."""
    said = []
    figures = {name.removesuffix("_pct"): _figure(name, value) for name, value in one.figures.items()}
    figures["near"] = kelvin(20)
    if one.code in WHY:
        said.append(str(WHY[one.code]) % {**figures, **({} if one.setting is None else _air(one.setting))})
    if one.code == "wait" and one.setting and one.setting.phase == "cooling":
        said.append(
            _("Fans on. It may be opened once it is within %(near)s of the air outside.") % {"near": kelvin(20)}
        )
    if one.code == "steam":
        said.append(
            _("The last stress test was case-hardened.")
            if one.figures.get("hardened")
            else _("The stress in the wood came to %(worst)s; above 1.2 the shell sets (common practice, no source).")
            % figures
        )
    elif one.figures.get("hardened"):
        said.append(_("The last test was still case-hardened: go on."))
    if one.vents and one.code in ("go_on", "back", "equalise", "condition", "wait", "weigh"):
        said.append(_("By the last air: %(what)s.") % {"what": VENTS[one.vents]})
    if one.late_days and one.code == "go_on":
        said.append(_("It was due %(days)s days ago.") % {"days": _one(one.late_days)})
    if one.code == "go_on" and one.set_step and one.setting.step and one.setting.step > one.set_step + 1:
        said.append(_("It passes over a step: go through it within a day."))
    if one.late_days and one.code == "weigh":
        said.append(_("They are %(days)s days late.") % {"days": _one(one.late_days)})
    if "days_to_bound" in one.figures:
        words = {"pct": _one(one.figures["bound_pct"]), "days": _one(one.figures["days_to_bound"])}
        said.append(_("The next change comes at %(pct)s %%, in about %(days)s days at this rate.") % words)
    return " ".join(said)


@register.filter
def next_when(one: Any) -> str:
    if one.code not in ("wait", "hold", "steam_on"):
        return ""
    local: datetime = timezone.localtime(one.due)
    if one.code == "steam_on":
        return _("Until %(when)s.") % {"when": date_format(local, "l j F, H:i")}
    if one.code == "hold":
        again = _("Look at the prongs again %(when)s.") if one.figures.get("resting") else _("Stress test %(when)s.")
        return again % {"when": date_format(local, "l j F, H:i")}
    if one.setting is not None and one.setting.phase == "cooling":
        return _("Read the dry bulb again %(when)s.") % {"when": date_format(local, "l j F, H:i")}
    measure = MEASURE.get(one.by, {}).get("again", gettext_lazy("Weigh again %(when)s."))
    return str(measure) % {"when": date_format(local, "l j F, H:i")}


@register.filter
def watch_words(one: Any) -> str:
    figures = {name: _figure(name, value) for name, value in one.figures.items()}
    return str(WATCHES[one.code]) % {**figures, "about": one.about}


@register.filter
def how_sure(one: Any) -> str:
    return str(SURE[one.sure])


@register.filter
def phase_words(record: Any) -> str:
    """What a record says that the kiln was set to: "step 3", "equalising"."""
    if record.step:
        return _("step %(n)d") % {"n": record.step}
    return str(Phase(record.phase).label) if record.phase else ""


def _figure(name: str, value: float) -> str:
    if name.endswith("_c"):
        return celsius(value, 1)
    return number_format(round(value), 0) if name in WHOLE else _one(value)


def _one(value: float) -> str:
    return number_format(round(value, 1), 1)
