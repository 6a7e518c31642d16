"""{% kiln_calendar ... %}: a row for each kiln, its charges and proposals as bars with a band on the day they end."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.formats import date_format

register = template.Library()

PAGE, LEFT, RIGHT = 360.0, 4.0, 356.0
HEAD, ROW, BAR = 20.0, 66.0, 22.0
NAME, FROM_ROW, BAND_BELOW, BAND_STEP = 16.0, 22.0, 6.0, 8.0
WORDS_WIDE = 46.0


def at(value: float) -> str:
    return f"{value:.1f}"


@dataclass(frozen=True, slots=True)
class Bar:
    """What takes a kiln: kind is charge, proposal or closure; `start` to `end` (its last day), band of the end."""

    kind: str
    what: Any
    start: date
    end: date
    low: date
    high: date


@dataclass(frozen=True, slots=True)
class Drawn:
    bar: Bar
    x: str
    y: str
    width: str
    text_x: str
    text_y: str
    shows_words: bool
    shows_band: bool
    low_x: str
    high_x: str
    band_y: str


@dataclass(frozen=True, slots=True)
class Line:
    kiln: Any
    name_y: str
    rule_y: str
    bars: list[Drawn] = field(default_factory=list)


class Scale:
    def __init__(self, first: date, days: int) -> None:
        self.first, self.days = first, days

    def x(self, day: date) -> float:
        part = min(max((day - self.first).days / self.days, 0.0), 1.0)
        return LEFT + (RIGHT - LEFT) * part

    def shows(self, bar: Bar) -> bool:
        return bar.end >= self.first and bar.start < self.first + timedelta(days=self.days)


def bars_of(kiln: Any, charges: Iterable[Any], proposals: Iterable[Any], today: date) -> list[Bar]:
    """All that takes one kiln, by its first day."""
    found = [_charge(one, today) for one in charges if one.kiln_id == kiln.pk]
    found += [_run("proposal", one) for one in proposals if one.kiln_id == kiln.pk]
    for closure in kiln.closures.all():
        found.append(Bar("closure", closure, closure.first_day, closure.last_day, closure.last_day, closure.last_day))
    return sorted(found, key=lambda bar: bar.start)


def _charge(one: Any, today: date) -> Bar:
    """A charge that is in the kiln takes it until it is unloaded, however long it was to last."""
    bar = _run("charge", one)
    return replace(bar, end=max(bar.end, today + timedelta(days=1))) if one.started_at else bar


def _run(kind: str, one: Any) -> Bar:
    ends = [one.start_on + timedelta(days=days) for days in (one.days, one.days_low, one.days_high)]
    return Bar(kind, one, one.start_on, *ends)


@register.inclusion_tag("kilnruns/_calendar.html")
def kiln_calendar(
    kilns: Iterable[Any], charges: Iterable[Any], proposals: Iterable[Any], first: date, days: int, today: date
) -> dict[str, Any]:
    scale = Scale(first, max(days, 7))
    kept, planned = list(charges), list(proposals)
    lines = [_line(row, kiln, bars_of(kiln, kept, planned, today), scale) for row, kiln in enumerate(kilns)]
    return {
        "lines": lines,
        "height": at(HEAD + ROW * len(lines)),
        "weeks": [{"x": at(scale.x(day)), "text": date_format(day, "j M")} for day in _weeks(scale)],
        "today": at(scale.x(today)) if first <= today <= first + timedelta(days=days) else "",
        "first": first,
        "last": first + timedelta(days=days),
    }


def _weeks(scale: Scale) -> list[date]:
    """The days that are named: every second Monday or so, five or six in all."""
    step = 7 * max(round(scale.days / 7 / 5), 1)
    return [scale.first + timedelta(days=day) for day in range(0, scale.days - step // 3, step)]


def _line(row: int, kiln: Any, bars: Iterable[Bar], scale: Scale) -> Line:
    top = HEAD + ROW * row
    shown = [bar for bar in bars if scale.shows(bar)]
    drawn = [_drawn(bar, top + FROM_ROW, scale, number % 2) for number, bar in enumerate(shown)]
    return Line(kiln, at(top + NAME), at(top), drawn)


def _drawn(bar: Bar, y: float, scale: Scale, step: int) -> Drawn:
    """`step` sets the bands of neighbours, which overlap, one below the other."""
    last = bar.end + timedelta(days=1) if bar.kind == "closure" else bar.end
    left, right = scale.x(bar.start), scale.x(last)
    return Drawn(
        bar=bar,
        x=at(left),
        y=at(y),
        width=at(max(right - left - 1, 2)),
        text_x=at((left + right) / 2),
        text_y=at(y + BAR / 2 + 4),
        shows_words=right - left > WORDS_WIDE,
        shows_band=bar.kind != "closure" and scale.x(bar.low) < RIGHT,
        low_x=at(scale.x(bar.low)),
        high_x=at(scale.x(bar.high)),
        band_y=at(y + BAR + BAND_BELOW + step * BAND_STEP),
    )
