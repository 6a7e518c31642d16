"""The report in words and drawing: what to change next time, figures against forecast, the run's curve."""

from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from kilnruns.closing.lessons import Held, Lesson
from kilnruns.closing.nexttime import Advice
from kilnruns.closing.report import Curve
from kilnruns.models import KilnLesson
from kilnruns.running.history import History
from kilnruns.templatetags.closing_figures import number, pct, pct_short
from kilnruns.templatetags.sensed import probe_words, sensed_lines
from yard.measures.quantities import of_unit
from yard.measures.system import imperial
from yard.measures.told import kelvin, unit_of

register = template.Library()

# Code of a rule (kilnruns.closing.nexttime) to what was seen and what to change; %(figure)s is its figure.
ADVICE = {
    "surface_checks": gettext_lazy(
        "Surface checks in %(figure)s %%: begin milder. Keep the first steps damper (vents shut, a smaller wet-bulb"
        " difference) until a third of the water is gone."
    ),
    "end_checks": gettext_lazy(
        "End checks in %(figure)s %%: coat the ends the day they are sawn; stickers flush with the ends."
    ),
    "warp": gettext_lazy(
        "Warp in %(figure)s %%: stickers closer and one above the other, one thickness a layer, weight on top."
    ),
    "collapse": gettext_lazy(
        "Collapse in %(figure)s %%: go in drier from the yard, and stay cool until all free water is gone."
    ),
    "honeycomb": gettext_lazy(
        "Honeycomb in %(figure)s %%: it was hot while the core was wet. Raise the heat only when the core is below"
        " about 25 %%, and begin milder: it starts as surface checks."
    ),
    "stain": gettext_lazy("Stain in %(figure)s %%: sticker it the day it is sawn, and dry the first points quicker."),
    "uneven": gettext_lazy("Uneven by %(figure)s points: equalise longer, or sort wetter boards out before loading."),
    "core_wet": gettext_lazy("Cores %(figure)s points wetter than shells: equalise longer before cooling down."),
    "too_dry": gettext_lazy("%(figure)s points drier than wanted: stop sooner; that cost days, power and size."),
    "too_wet": gettext_lazy("%(figure)s points wetter than wanted: dry on until the wettest board is at the target."),
    "stressed": gettext_lazy("The stress test closed in: condition longer, or at all."),
    "stressed_dry": gettext_lazy(
        "The stress test closed in, and this kiln can't condition: dry slower at its end, and let it rest."
    ),
    "reverse": gettext_lazy("The stress test spread: condition shorter."),
    "slower": gettext_lazy("It took %(figure)s %% longer than forecast: the kiln's factor learns from it by itself."),
    "quicker": gettext_lazy(
        "It took %(figure)s %% less time than forecast: the kiln's factor learns from it by itself."
    ),
    "more_power": gettext_lazy(
        "It used %(figure)s %% more power than forecast: look at door seal, walls and vents; see the kiln's page."
    ),
    "unseen": gettext_lazy("For %(figure)s days nothing was noted: weigh the samples daily, so that trouble is seen."),
    "too_hot": gettext_lazy("%(figure)s hotter than the schedule's last step was noted: mind the thermostat."),
}
TENTHS = {"uneven", "core_wet", "too_dry", "too_wet", "unseen"}
SOURCES = {
    "recalled": gettext_lazy("AH-188, recalled"),
    "practice": gettext_lazy("common practice, no source"),
    "counted": gettext_lazy("from this run's figures"),
}
FIGURES = {
    "days": (gettext_lazy("Days"), 1),
    "electricity_kwh": (gettext_lazy("Electricity, kWh"), 0),
    "cost_per_m3": (gettext_lazy("Cost a %(unit)s, without work"), 0),
    "kwh_per_kg": (gettext_lazy("kWh for a %(unit)s of water"), 2),
}
PER = {"cost_per_m3": "m³", "kwh_per_kg": "kg"}
SAME_EMC_PCT = 0.5  # points of EMC that nobody would mend a kiln for; a choice
LEFT, RIGHT, TOP, BOTTOM = 34.0, 350.0, 8.0, 190.0


@register.filter
def advice_words(one: Advice) -> str:
    tenths = 1 if one.code in TENTHS else 0
    figure = kelvin(one.figure, tenths) if one.code == "too_hot" else number(one.figure, tenths)
    return str(ADVICE[one.code]) % {"figure": figure}


@register.filter
def advice_source(one: Advice) -> str:
    return str(SOURCES[one.source])


@register.filter
def deviation_name(one: Any) -> str:
    return str(FIGURES[one.name][0]) % {"unit": unit_of(PER[one.name]) if one.name in PER else ""}


@register.filter
def deviation_figure(one: Any, which: str) -> str:
    """{{ one|deviation_figure:"forecast" }} or "found"."""
    value, decimals = getattr(one, which), FIGURES[one.name][1]
    measure = of_unit(PER.get(one.name))
    if value is None or measure is None or not imperial():
        return number(value, decimals)
    return number(value * measure.imperial.per, 2)


@register.filter
def more_words(more_pct: float | None) -> str:
    """A deviation: "12 % more", "as forecast"."""
    if more_pct is None:
        return "–"
    if abs(more_pct) < 0.5:
        return _("as forecast")
    return (_("%(n)s %% more") if more_pct > 0 else _("%(n)s %% less")) % {"n": number(abs(more_pct))}


@register.filter
def lasted(hours: float) -> str:
    """As "14 h", "3.4 days" from two days on."""
    if hours < 48:
        return _("%(n)s h") % {"n": number(hours)}
    return _("%(n)s days") % {"n": number(hours / 24, 1)}


@register.filter
def money(value: float | None) -> str:
    return number(value)


@register.inclusion_tag("kilnruns/report_curve.html")
def run_curve(curve: Curve, history: History | None = None, began: datetime | None = None) -> dict[str, Any]:
    """Forecast as a line, readings as dots, the target as a level, probes thin; places in the drawing as text."""
    probes, start = (history.probes, began) if history and began else ((), datetime.min)
    last = max([curve.days, *(day for day, _pct in curve.forecast), *(dot.day for dot in curve.dots), 1.0])
    moistures = [*(one for _day, one in curve.forecast), *(dot.moisture_pct for dot in curve.dots)]
    moistures += [pct for probe in probes for _at, pct in probe.line]
    step = next(size for size in (5, 10, 20, 50) if max(moistures) <= 5 * size or size == 50)
    top = step * -(-max(moistures) // step)

    def x(day: float) -> str:
        return f"{LEFT + (RIGHT - LEFT) * min(day / last, 1.0):.1f}"

    def y(moisture_pct: float) -> str:
        return f"{BOTTOM - (BOTTOM - TOP) * min(moisture_pct / top, 1.0):.1f}"

    days = [round(last * share) for share in (0, 1 / 3, 2 / 3, 1)]
    return {
        "line": "M" + "L".join(f"{x(day)} {y(one)}" for day, one in curve.forecast) if curve.forecast else "",
        "dots": [{"x": x(dot.day), "y": y(dot.moisture_pct)} for dot in curve.dots],
        "grid": [{"y": y(level), "text": number(level)} for level in range(step, int(top) + 1, step)],
        "ticks": [{"x": x(day), "text": number(day)} for day in dict.fromkeys(days)],
        "aim": {"y": y(curve.target_pct), "text": _("target %(target)s") % {"target": pct_short(curve.target_pct)}},
        "end": {"x": x(curve.days)},
        "sensed": sensed_lines(probes, lambda at, one: (float(x((at - start) / timedelta(days=1))), float(y(one)))),
        "probe_words": probe_words(probes),
        "points": _table(curve),
    }


def _table(curve: Curve) -> list[dict[str, str]]:
    """Each reading beside the forecast of its day."""
    found = []
    for dot in curve.dots:
        expected = _at(curve.forecast, dot.day)
        row = {
            "day": number(dot.day, 1),
            "read": pct(dot.moisture_pct),
            "what": dot.stack.species.name,
        }
        found.append(row | {"forecast": pct(expected)})
    return found


def _at(line: Any, day: float) -> float | None:
    """The forecast on a day: straight between its points, its end held."""
    for (first, before), (second, after) in pairwise(line):
        if first <= day <= second:
            return before + (after - before) * (day - first) / max(second - first, 1e-9)
    return line[-1][1] if line and day > line[-1][0] else None


@register.filter
def lesson_verb(one: Lesson) -> str:
    """A kiln's figure as its runs tell it."""
    value = {"value": number(one.found.value, 2)}
    if one.quantity == KilnLesson.Quantity.WALL_U:
        return _("Its walls lose %(value)s W/m²K") % value
    return _("With vents shut, its air changes %(value)s times an hour") % value


@register.filter
def lesson_why(one: Lesson) -> str:
    """Its band, what it rests on, and what plans count with now."""
    words = {"low": number(one.found.band[0], 2), "high": number(one.found.band[1], 2), "own": number(one.own, 2)}
    if one.quantity == KilnLesson.Quantity.WALL_U:
        base = ngettext("From the power of %(n)d run", "From the power of %(n)d runs", one.found.runs)
    else:
        base = ngettext("From %(n)d stretch", "From %(n)d stretches", one.found.runs)
    band = _("%(low)s to %(high)s, four times in five. Plans count with %(own)s.") % words
    return f"{base % {'n': one.found.runs}}: {band}"


@register.filter
def lesson_used(row: KilnLesson) -> str:
    words = {"kiln": row.kiln, "value": number(row.value, 2), "n": row.runs}
    if row.quantity == KilnLesson.Quantity.WALL_U:
        return _("%(kiln)s: walls counted with %(value)s W/m²K, as its own runs told.") % words
    return _("%(kiln)s: leaks counted with %(value)s air changes an hour, as its own runs told.") % words


@register.filter
def held_words(held: Held) -> str:
    """Whether the kiln holds the damp air that schedules call for."""
    words = {"more": number(abs(held.more_pct), 1), "n": held.notes}
    if abs(held.more_pct) < SAME_EMC_PCT:
        return _("It holds its humidity: over %(n)d notes the air was as called for.") % words
    if held.more_pct < 0:
        said = _("Its air was %(more)s points of EMC drier than called for, over %(n)d notes: close vents and seals.")
        return said % words
    said = _("Its air was %(more)s points of EMC damper than called for, over %(n)d notes: open the vents further.")
    return said % words
