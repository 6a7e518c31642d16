"""The chart of a run in hand: samples over the predicted curve with its band, dry bulb below, steps and events."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _

from kilnruns.running.history import History
from kilnruns.templatetags.run_words import phase_words
from kilnruns.templatetags.sensed import path, probe_words, sensed_lines, sensed_rows
from yard.measures.quantities import TEMPERATURE
from yard.measures.told import celsius, figure

register = template.Library()

LEFT, RIGHT, TOP, BOTTOM = 34.0, 352.0, 20.0, 208.0
AIR_TOP, AIR_BOTTOM = 232.0, 300.0
LINES = 4
WARM_C = 20.0
APART = 24.0  # labels nearer than this go into two rows


@dataclass(frozen=True, slots=True)
class Scales:
    days: float
    top_pct: float
    top_c: float

    def x(self, day: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * min(max(day / self.days, 0.0), 1.0), 1)

    def y(self, pct: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * min(pct / self.top_pct, 1.0), 1)

    def warm_y(self, celsius: float) -> float:
        share = (celsius - WARM_C) / (self.top_c - WARM_C)
        return round(AIR_BOTTOM - (AIR_BOTTOM - AIR_TOP) * min(max(share, 0.0), 1.0), 1)


@register.inclusion_tag("kilnruns/_run_chart.html")
def run_chart(run: Any, now: datetime, history: History | None = None) -> dict[str, Any]:
    """SVG paths in the frame of the curve's drawing; the same as rows of a table beside it. `history`: the sensors'."""
    start, history = run.charge.started_at, history or History()
    scales = _scales(run, now, history)
    dots = [
        {"x": scales.x(_day(at, start)), "y": scales.y(pct)}
        for one in run.series
        for at, pct in zip(one.at, one.moisture_pct, strict=True)
    ]
    return {
        "dots": dots,
        "samples": [path([(scales.x(_day(at, start)), scales.y(p)) for at, p in _points(one)]) for one in run.series],
        **_predicted(run, scales),
        "grid": [{"y": scales.y(pct), "text": number_format(pct, 0)} for pct in _rounds(scales.top_pct)],
        "warm_grid": [{"y": scales.warm_y(c), "text": figure(c, 0, TEMPERATURE)} for c in (WARM_C, scales.top_c)],
        "aim": scales.y(run.charge.target_pct),
        "air": path([(scales.x(_day(a.at, start)), scales.warm_y(a.dry_bulb_c)) for a in _by_time(run.air)]),
        "air_dots": [{"x": scales.x(_day(a.at, start)), "y": scales.warm_y(a.dry_bulb_c)} for a in run.air],
        "today": scales.x(_day(now, start)),
        "events": _events(run, scales, start),
        "ticks": [{"x": scales.x(day), "text": number_format(day, 0)} for day in _rounds(scales.days)],
        "sensed": sensed_lines(history.probes, lambda at, pct: (scales.x(_day(at, start)), scales.y(pct))),
        "sensed_air": [
            path([(scales.x(_day(at, start)), scales.warm_y(c)) for at, c in line])
            for line in (*history.dry_bulb, *history.wet_bulb)
        ],
        "probe_words": probe_words(history.probes),
        "rows": _rows(run, history),
    }


def _scales(run: Any, now: datetime, history: History) -> Scales:
    curve = run.charge.course.get("run", {}).get("curve", {})
    seen = [pct for one in run.series for pct in one.moisture_pct]
    seen += [pct for probe in history.probes for _at, pct in probe.line]
    warm = [one.dry_bulb_c for one in run.air] + [c for line in history.dry_bulb for _at, c in line]
    days = max(run.charge.days_high, _day(now, run.charge.started_at) + 1)
    return Scales(days, max([20.0, *seen, *curve.get("mean_pct", [])]) * 1.05, max([60.0, *warm]) + 5)


def _points(one: Any) -> list[tuple[datetime, float]]:
    return list(zip(one.at, one.moisture_pct, strict=True))


def _by_time(air: Sequence[Any]) -> list[Any]:
    return sorted(air, key=lambda one: one.at)


def _predicted(run: Any, scales: Scales) -> dict[str, str]:
    """The forecast and its band: the same curve run through in the charge's shortest and longest time."""
    curve = run.charge.course.get("run", {}).get("curve")
    if not curve or not curve.get("days") or not run.charge.days:
        return {"ahead": "", "spread": ""}
    fast, slow = run.charge.days_low / run.charge.days, run.charge.days_high / run.charge.days
    pairs = list(zip(curve["days"], curve["mean_pct"], strict=True))
    line = [(scales.x(day), scales.y(pct)) for day, pct in pairs]
    edge = [(scales.x(day * fast), scales.y(pct)) for day, pct in pairs]
    edge += [(scales.x(day * slow), scales.y(pct)) for day, pct in reversed(pairs)]
    return {"ahead": path(line), "spread": path(edge)}


def _events(run: Any, scales: Scales, start: datetime) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    last = ""
    for record in run.records:
        words = phase_words(record)
        if words and words != last:
            x = scales.x(_day(record.at, start))
            raised = bool(found) and x - found[-1]["x"] < APART and not found[-1]["raised"]
            short = str(record.step) if record.step else words.split("-")[0]
            found.append({"x": x, "y": 0.0 if raised else 14.0, "raised": raised, "text": short})
            last = words
    return found


def _rows(run: Any, history: History) -> list[dict[str, str]]:
    rows = [
        (at, one.label or _("meter"), _("%(pct)s %%") % {"pct": number_format(round(pct, 1), 1)})
        for one in run.series
        for at, pct in _points(one)
    ]
    rows += [(a.at, _("dry bulb"), celsius(a.dry_bulb_c)) for a in run.air]
    rows += [(record.at, _("set to"), phase_words(record)) for record in run.records if record.phase]
    rows += list(sensed_rows(history))
    rows.sort(key=lambda row: row[0])
    return [{"at": date_format(timezone.localtime(at), "j M, H:i"), "what": w, "value": v} for at, w, v in rows]


def _day(at: datetime, start: datetime) -> float:
    return (at - start).total_seconds() / 86400


def _rounds(top: float) -> list[float]:
    """A few round figures from 0 up to the top."""
    step = next((one for one in (1, 2, 5, 10, 20, 25, 50, 100) if top / one <= LINES), 100)
    return [float(step * n) for n in range(int(top / step) + 1)]
