"""The moisture and the quality that a paper states, in words; what is not known is said."""

from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from kilnruns.papers.sheet import Line
from kilnruns.templatetags.closing_figures import number, pct, pct_short
from yard.measures.told import celsius, mm
from yard.models import Method

METHODS = {
    Method.PINS: gettext_lazy("resistance meter with pins"),
    Method.CAPACITANCE: gettext_lazy("capacitance meter"),
    Method.OVEN_DRY: gettext_lazy("oven-dry sections"),
    Method.SAMPLE_BOARD: gettext_lazy("weighed sample boards"),
}
PROOF = {
    "proven": gettext_lazy("So many boards prove it for the whole stack (95 %)."),
    "refuted": gettext_lazy("So many boards prove that the whole stack does not comply (95 %)."),
    "open": gettext_lazy("So few boards prove it neither way for the whole stack."),
}


def moisture_lines(item: dict[str, Any]) -> list[Line]:
    found = item["moisture"]
    if found is None:
        return [Line(_("Moisture"), _("not measured"), True)]
    if found["before_run"]:
        words = _("not known: it was last measured before the kiln run ended (%(mean)s, %(day)s)")
        return [Line(_("Moisture"), words % {"mean": pct(found["mean_pct"]), "day": _day(found["on"])}, True)]
    lines = [Line(_("Moisture"), _mean(found), True), Line(_("Measured"), _measured(found))]
    return [*lines, Line(_("Core and shell"), _core_shell(found["core_shell"]))]


def _mean(found: dict[str, Any]) -> str:
    if found["sd_pct"] is None:
        return _("%(mean)s; one value alone tells no spread") % {"mean": pct(found["mean_pct"])}
    figures = {"mean": pct(found["mean_pct"]), "low": number(found["low_pct"], 1), "high": pct(found["high_pct"])}
    figures["sd"] = number(found["sd_pct"], 1)
    return _("%(mean)s on the mean; %(low)s to %(high)s, standard deviation %(sd)s points") % figures


def _measured(found: dict[str, Any]) -> str:
    """By what, how often, when, how deep."""
    count = found["count"]
    if found["one_a_board"]:
        counted = ngettext("%(n)d board", "%(n)d boards, one value each", count)
    else:
        counted = ngettext("%(n)d value", "%(n)d values", count)
    parts = [str(METHODS[found["method"]]), counted % {"n": count}, _day(found["on"]), _depth(found)]
    if found["wood_temperature_c"] is not None:
        parts.append(_("wood at %(c)s") % {"c": celsius(found["wood_temperature_c"])})
    if found["of_stack"]:
        parts.append(_("measured on the stack, not on this board"))
    return "; ".join(parts)


def _depth(found: dict[str, Any]) -> str:
    if found["method"] in (Method.OVEN_DRY, Method.SAMPLE_BOARD):
        return _("through the whole thickness")
    if found["depth_mm"] is not None:
        return _("pins %(depth)s deep, by the issuer's word") % {"depth": mm(found["depth_mm"])}
    return _("depth not noted")


def _core_shell(found: dict[str, Any] | None) -> str:
    if found is None:
        return _("not measured apart")
    figures = {"core": pct(found["core_pct"]), "shell": pct(found["shell_pct"]), "n": found["count"]}
    words = ngettext("core %(core)s, shell %(shell)s, %(n)d board", "core %(core)s, shell %(shell)s, %(n)d boards",
                     found["count"])  # fmt: skip
    return words % figures


def quality_line(found: dict[str, Any] | None) -> Line:
    name = _("Quality, EN 14298")
    if found is None:
        return Line(name, _("not known: no boards were measured at the end of a run here"))
    boards = {"n": found["boards"], "of": found["of"], "day": _day(found["on"])}
    counted = (
        _("%(n)d of %(of)d boards measured, %(day)s") if found["of"] else _("%(n)d boards measured, %(day)s")
    ) % boards
    target = {"target": pct_short(found["target_pct"])}
    if found["passes"] is None:
        if found["sd_pct"] is None:
            return Line(name, _("one board alone tells nothing of it (%(boards)s)") % {"boards": counted})
        return Line(name, _("no figures in it for a target of %(target)s; %(boards)s") % {**target, "boards": counted})
    verdict = _("kept") if found["passes"] else _("not kept")
    said = _("%(verdict)s on the boards measured, for a target of %(target)s (%(boards)s).")
    return Line(
        name,
        " ".join(
            [said % {**target, "verdict": verdict, "boards": counted}, _figures(found), str(PROOF[found["proof"]])]
        ),
    )


def _figures(found: dict[str, Any]) -> str:
    shares = {"share": number(found["share_inside_pct"]), "asked": number(found["share_asked_pct"], 1)}
    shares |= {"low": number(found["piece_from_pct"], 1), "high": number(found["piece_to_pct"], 1)}
    shares |= {"least": number(found["mean_from_pct"], 1), "most": number(found["mean_to_pct"], 1)}
    mean = (
        _("The mean is within %(least)s to %(most)s %%;")
        if found["mean_inside"]
        else _("The mean is outside %(least)s to %(most)s %%;")
    )
    return (
        " ".join([mean, _("%(share)s %% of the boards are within %(low)s to %(high)s %% (%(asked)s %% must).")])
        % shares
    )


def _day(iso: str) -> str:
    return date_format(date.fromisoformat(iso), "j F Y")
