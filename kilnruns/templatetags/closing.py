"""The end of a run in words: whether it is done, how good the boards are, what a stress test means."""

from typing import Any

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from kilnruns.closing.quality import Quality
from kilnruns.closing.rule import Standing
from kilnruns.closing.stress import StressFound, TestSaid
from kilnruns.templatetags.closing_figures import number, pct, pct_short
from yard.measures.told import mm

register = template.Library()

MEANS = {
    "case_hardened": (
        gettext_lazy("Stress in it: the tips close in"),
        gettext_lazy(
            "Condition longer: damp air at the last step's heat, then test again. Sawn as it is, it would bow."
        ),
    ),
    "stress_free": (gettext_lazy("Free of stress: the tips stay"), gettext_lazy("No more conditioning. Cool down.")),
    "reverse": (
        gettext_lazy("Stress the other way: the tips spread"),
        gettext_lazy(
            "Conditioned too long or too damp; that can hardly be taken back. Stop conditioning, cool down, and"
            " condition the next charge shorter."
        ),
    ),
    "": (gettext_lazy("Cut; look at it again a day later"), gettext_lazy("Keep the section in a dry room till then.")),
}
SLICE_MEANS = {
    "case_hardened": gettext_lazy("Much stress in it: the halves gape"),
    "stress_free": gettext_lazy("Little stress: the halves lie close"),
}
CLASS_MOST_MM = {"exclusive": 1, "quality": 2, "standard": 3}
CLASSES = {
    "exclusive": gettext_lazy("class “exclusive” (to %(most)s)"),
    "quality": gettext_lazy("class “quality” (to %(most)s)"),
    "standard": gettext_lazy("class “standard” (to %(most)s)"),
    None: gettext_lazy("wider than any class"),
}
CANT = gettext_lazy(
    "This kiln can't add moisture, so it can't condition: let the wood rest in a dry room, and saw with care."
)


@register.filter
def done_verb(standing: Standing) -> str:
    """Whether the charge is done, in a few words."""
    figures = {"wettest": pct(standing.wettest_pct), "count": standing.count, "mean": pct(standing.mean_pct)}
    if standing.state in ("wet", "equalise"):
        if standing.by_mean:
            return _("Not yet: the mean of %(count)d boards is %(mean)s") % figures
        return _("Not yet: the wettest of %(count)d boards is %(wettest)s") % figures
    words = {
        "unread": _("Not known yet: measure the boards"),
        "condition": _("Dry enough; now take the stress out"),
        "rest": _("Dry enough; the stress test waits"),
        "over": _("Done, but conditioned too far"),
        "done": _("Done: all %(count)d boards are at the target") % figures,
    }
    if standing.state == "done" and standing.by_mean:
        return _("Done: the mean of %(count)d boards is %(mean)s") % figures
    return words[standing.state]


@register.filter
def done_why(standing: Standing) -> str:
    """What to do next, and by which rule."""
    air = {"equalise": pct_short(standing.equalise_pct or 0), "target": pct_short(standing.target_pct)}
    air["condition"] = pct_short(standing.condition_pct or 0)
    if standing.state == "unread" and standing.count:
        missing = ngettext("%(n)d stack is not read yet.", "%(n)d stacks are not read yet.", standing.unread)
        return missing % {"n": standing.unread}
    words = {
        "unread": _("It is done when the boards are at the target, not when a day is reached."),
        "wet": _("Dry on to %(target)s.") if standing.by_mean else _("Dry on: the wettest shall be at %(target)s."),
        "equalise": _("Equalise on: air of %(equalise)s EMC, until the wettest is at %(target)s."),
        "condition": _("Condition: air of %(condition)s EMC, until a stress test lies flat."),
        "rest": _("Look at the section again a day after it was cut."),
        "over": _("Cool down; condition the next charge shorter."),
        "done": _("Cool down with the fans on, then unload."),
    }
    return words[standing.state] % air


@register.filter
def verdict_words(quality: Quality) -> str:
    """EN 14298 in one sentence."""
    verdict = quality.verdict
    if verdict is None:
        return _("EN 14298 has no figures for a target of %(target)s; the spread tells.") % {
            "target": pct_short(quality.target_pct)
        }
    allowed = verdict.tolerance
    share = {"share": f"{verdict.share_inside_pct:.0f}", "low": number(allowed.piece_from_pct, 1)}
    share |= {"high": number(allowed.piece_to_pct, 1), "asked": number(allowed.share_pct, 1)}
    pieces = _("%(share)s %% of the boards lie within %(low)s to %(high)s %% (%(asked)s %% must).") % share
    mean = {"mean": pct(verdict.spread.mean_pct), "low": number(allowed.mean_from_pct, 1)}
    mean["high"] = number(allowed.mean_to_pct, 1)
    inside = _("The mean of %(mean)s is within %(low)s to %(high)s %%.")
    outside = _("The mean of %(mean)s is outside %(low)s to %(high)s %%.")
    return (inside if verdict.mean_inside else outside) % mean + " " + pieces


@register.filter
def proof_words(quality: Quality) -> str:
    """What so few boards prove of all."""
    if quality.verdict is None:
        return ""
    said = {
        "proven": _("So many boards prove it for the whole charge (95 %)."),
        "refuted": _("So many boards prove that the whole charge does not comply (95 %)."),
        "open": _("So few boards prove it neither way for the whole charge; more boards would tell."),
    }
    return said[quality.verdict.proof]


@register.filter
def spread_words(quality: Quality) -> str:
    if quality.spread is None:
        return _("One board alone tells no spread.")
    words: dict[str, Any] = {"low": number(quality.spread.lowest_pct, 1), "high": pct(quality.spread.highest_pct)}
    words |= {"sd": number(quality.spread.sd_pct, 1), "count": quality.spread.count}
    return _("%(count)d boards from %(low)s to %(high)s; standard deviation %(sd)s points.") % words


@register.filter
def gradient_words(quality: Quality) -> str:
    """Core against shell, with what to do."""
    if quality.gradient is None:
        return ""
    mean = {"mean": number(abs(quality.gradient.mean_pct), 1)}
    said = {
        "even": _("Core and shell differ by %(mean)s points on the mean: even."),
        "core_wet": _(
            "The core is %(mean)s points wetter than the shell: equalise on, else boards move after planing."
        ),
        "shell_wet": _(
            "The shell is %(mean)s points wetter than the core: it was rewetted; let it rest before planing."
        ),
    }
    return said[quality.gradient.verdict] % mean


@register.filter
def stress_verb(said: TestSaid) -> str:
    if said.gap_mm is not None:
        return str(SLICE_MEANS[said.verdict])
    return str(MEANS[said.verdict][0])


@register.filter
def stress_why(said: TestSaid) -> str:
    if said.gap_mm is None:
        return str(MEANS[said.verdict][1])
    gap = {
        "width": mm(100),
        "gap": mm(said.gap_mm, 1),
        "class": CLASSES[said.gap_class] % {"most": mm(CLASS_MOST_MM.get(said.gap_class or ""))},
    }
    told = _("Gap %(gap)s on %(width)s: %(class)s, bounds recalled.") % gap
    return told + " " + str(MEANS[said.verdict][1]) if said.verdict == "case_hardened" else told


@register.filter
def stress_advice(found: StressFound, charge: Any) -> str:
    """What the newest tests call for, in this kiln."""
    if found.verdict == "case_hardened" and not charge.kiln.humidifies:
        return str(CANT)
    return str(MEANS[found.verdict][1]) if found.verdict else ""


@register.filter
def of_key(table: dict[Any, Any], key: Any) -> Any:
    """table|of_key:key, None where there is none."""
    return table.get(key)
