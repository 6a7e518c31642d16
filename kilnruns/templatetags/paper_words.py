"""A paper's frozen facts in words: the one place where they are worded, for the page, the print and the PDF."""

from datetime import date
from typing import Any

from django import template
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from kilnruns.models import Paper, PaperKind
from kilnruns.papers.facts import mark
from kilnruns.papers.sheet import Line, Section, Told
from kilnruns.templatetags.closing_figures import number, pct_short
from kilnruns.templatetags.paper_moisture import moisture_lines, quality_line
from yard.measures.told import celsius, m3, metres, mm, thick
from yard.models.tagcode import shown
from yard.models.woodname import told as told_wood

register = template.Library()

STRESS = {
    ("prong", "case_hardened"): gettext_lazy("stress in it: the tips closed in"),
    ("prong", "stress_free"): gettext_lazy("free of stress: the tips stayed"),
    ("prong", "reverse"): gettext_lazy("stress the other way: the tips spread"),
    ("gap", "case_hardened"): gettext_lazy("much stress in it: the halves gaped"),
    ("gap", "stress_free"): gettext_lazy("little stress: the halves lay close"),
}
LEFT_OUT = {
    "moisture": gettext_lazy("the moisture"),
    "run": gettext_lazy("the kiln run"),
    "quality": gettext_lazy("the quality by EN 14298"),
}
NOT_HEAT_TREATED = gettext_lazy(
    "Heat treatment is not claimed: the temperature inside the wood was not recorded. This paper is no proof of a"
    " treatment against pests (ISPM 15)."
)


@register.filter
def paper_title(paper: Paper) -> str:
    """As "Dry certificate 7"."""
    return f"{capfirst(str(paper.get_kind_display()))} {paper.number}"


@register.filter
def wood_on_paper(items: list[dict[str, Any]]) -> str:
    """Its woods, each once: "Ash 27 mm, oak 40 mm"."""
    woods = dict.fromkeys(f"{told_wood(item['species'])} {thick(item['thickness_mm'])}" for item in items)
    return str(capfirst(", ".join(woods)))


def told(paper: Paper) -> Told:
    """All that a paper says; its figures are those that were frozen."""
    facts = paper.facts
    words = {"day": day(facts["issued_on"]), "name": facts["issued_by"]}
    withdrawn = ""
    if paper.withdrawn_at:
        why = {"day": date_format(paper.withdrawn_at, "j F Y"), "why": paper.withdrawn_why}
        withdrawn = _("Withdrawn on %(day)s: %(why)s. It no longer holds.") % why
    return Told(
        title=paper_title(paper) if paper.number else str(capfirst(PaperKind(facts["kind"]).label)),
        mill=facts["mill"],
        issued=(_("Issued %(day)s by %(name)s") if words["name"] else _("Issued %(day)s")) % words,
        to=tuple(facts["to"].splitlines()),
        sections=(*(_item(item, facts) for item in facts["items"]), *(_run(run) for run in facts.get("runs", ()))),
        total=_total(facts["items"]),
        limits=tuple(_limits(facts)),
        note=facts["note"],
        signatures=_signatures(facts["kind"]),
        mark=mark(facts, paper.number or 0),
        withdrawn=withdrawn,
    )


def day(iso: str) -> str:
    return date_format(date.fromisoformat(iso), "j F Y")


def _item(item: dict[str, Any], facts: dict[str, Any]) -> Section:
    wood = capfirst(told_wood(item["species"])) + (f" ({item['latin']})" if item["latin"] else "")
    lines = [Line(_("Tag"), _tag(item)), Line(_("Sizes as sawn"), _sizes(item)), _dry_thickness(item), _volume(item)]
    if "moisture" in facts["stated"]:
        lines += moisture_lines(item)
    if "run" in facts["stated"]:
        lines.append(_through(item, facts["runs"]))
    if "quality" in facts["stated"]:
        lines.append(quality_line(item["quality"]))
    return Section(f"{wood}, {thick(item['thickness_mm'])}", tuple(lines))


def _tag(item: dict[str, Any]) -> str:
    if item["board_of"]:
        return _("%(code)s, one board of stack %(stack)s") % {
            "code": shown(item["code"]),
            "stack": shown(item["board_of"]),
        }
    return shown(item["code"])


def _sizes(item: dict[str, Any]) -> str:
    pieces = item["pieces"]
    lines = [f"{count} × {metres(length)} × {mm(width)}" for length, width, count in item["lines"]]
    counted = ngettext("%(n)d piece", "%(n)d pieces", pieces) % {"n": pieces}
    size = _("%(thickness)s thick") % {"thickness": thick(item["thickness_mm"])}
    if not lines:
        return _("%(thick)s; how many pieces is not known") % {"thick": size}
    return f"{size}; {counted}: {'; '.join(lines)}"


def _dry_thickness(item: dict[str, Any]) -> Line:
    dried = item["dried_mm"]
    if dried is None:
        return Line(_("Thickness dry"), _("not measured"))
    words = ngettext("%(mean)s, of %(n)d board", "%(mean)s, mean of %(n)d boards", dried["count"])
    return Line(_("Thickness dry"), words % {"mean": mm(dried["mean_mm"], 1), "n": dried["count"]})


def _volume(item: dict[str, Any]) -> Line:
    if not item["pieces"]:
        return Line(_("Volume"), _("not known"))
    volume = {"green": m3(item["volume_m3"], 3)}
    if item["dry_share"] is None:
        return Line(_("Volume"), _("%(green)s as sawn; the dry volume is not known") % volume, True)
    volume["dry"] = m3(item["volume_m3"] * item["dry_share"], 3)
    return Line(_("Volume"), _("%(green)s as sawn; about %(dry)s dry, by the wood's shrinkage") % volume, True)


def _through(item: dict[str, Any], runs: list[dict[str, Any]]) -> Line:
    if item["run"] is not None:
        run = runs[item["run"]]
        return Line(_("Kiln run"), _("%(kiln)s, %(days)s, told below") % {"kiln": run["kiln"], "days": _span(run)})
    if item["kiln_dried_on"]:
        words = _("said to be kiln-dried on %(day)s; no run is on record here") % {"day": day(item["kiln_dried_on"])}
        return Line(_("Kiln run"), words)
    return Line(_("Kiln run"), _("none on record here"))


def _span(run: dict[str, Any]) -> str:
    return _("%(first)s to %(last)s") % {"first": day(run["started_on"]), "last": day(run["ended_on"])}


def _run(run: dict[str, Any]) -> Section:
    length = {"days": number(run["days"], 1), "span": _span(run), "target": pct_short(run["target_pct"])}
    return Section(
        _("Run in %(kiln)s") % {"kiln": run["kiln"]},
        (
            Line(_("How long"), _("%(days)s days, %(span)s, to a target of %(target)s") % length),
            Line(_("Highest temperature"), _hottest(run)),
            Line(_("Stress test"), _stress(run["stress"])),
        ),
    )


def _hottest(run: dict[str, Any]) -> str:
    if run["hottest_c"] is None:
        return _("not noted")
    air = _("%(hottest)s in the kiln's air") % {"hottest": celsius(run["hottest_c"], 1)}
    notes = ngettext("%(n)d note by hand", "%(n)d notes by hand", run["notes"]) % {"n": run["notes"]}
    sources = [notes] if run["notes"] else []
    sources += [_("sensors")] if run["by_sensor"] else []
    return _("%(air)s, from %(sources)s; between them it may have been hotter") % {
        "air": air,
        "sources": _(" and ").join(sources),
    }


def _stress(stress: dict[str, Any] | None) -> str:
    if stress is None:
        return _("none noted")
    return _("%(found)s (%(day)s)") % {"found": STRESS[stress["kind"], stress["verdict"]], "day": day(stress["on"])}


def _total(items: list[dict[str, Any]]) -> str:
    if len(items) < 2:
        return ""
    sums = {"packs": len(items), "pieces": sum(item["pieces"] for item in items)}
    return _("Together: %(packs)d stacks or boards, %(pieces)d pieces, %(volume)s as sawn") % {
        **sums,
        "volume": m3(sum(item["volume_m3"] for item in items), 3),
    }


def _limits(facts: dict[str, Any]) -> list[str]:
    """What the paper does not say, and for how long what it says holds."""
    found = []
    stated = facts["stated"]
    if "moisture" in stated:
        found.append(
            _(
                "Moisture is in % of the oven-dry mass. It holds for the day on which it was measured: in store wood"
                " takes on the moisture of the air. Keep it dry and covered, and measure again before use."
            )
        )
    if "quality" in stated and any(item["quality"] for item in facts["items"]):
        found.append(
            _("The limits of EN 14298 used here are recalled or read second-hand; the standard itself decides.")
        )
    left_out = [str(words) for name, words in LEFT_OUT.items() if name not in stated]
    if left_out:
        found.append(_("Not stated on this paper: %(what)s.") % {"what": ", ".join(left_out)})
    found.append(str(NOT_HEAT_TREATED))
    found.append(_("No strength, grade or origin is stated."))
    return found


def _signatures(kind: str) -> tuple[str, ...]:
    if kind == PaperKind.DELIVERY_NOTE:
        return (_("Handed over: day, name"), _("Received: day, name"))
    return (_("Signed: day, name"),)
