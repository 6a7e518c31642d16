"""{% kiln_calendar ... %}: a row for each kiln, its charges and proposals as bars with a band on the day they end.

One scale for all plans, so that a bar can be read and touched however long the plan is; what is longer than the screen
is moved sideways in a box of its own.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from django import template
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.text import Truncator

from kilnruns.planning.horizon import BEYOND_DAYS, Horizon
from kilnruns.templatetags.charges import wood_of
from yard.actions.roles import may

register = template.Library()

DAY = 11.0  # pixels; a run of five days is a finger wide
WEEK_DAYS = 7
BAR_TOP, BAR, ROW, AXIS = 2.0, 48.0, 74.0, 34.0
BAND_BELOW, BAND_STEP = 7.0, 9.0
PIXELS_PER_REM = 16.0
LETTER, WORDS_WIDE, FEWEST_LETTERS = 7.0, 42.0, 4  # of 12 px text, about
LONG_DAYS = 60  # more than that is printed on paper turned sideways


def at(value: float) -> str:
    return f"{value:.1f}"


def rem(pixels: float) -> str:
    """So that it grows with the reader's letters."""
    return f"{pixels / PIXELS_PER_REM:.3f}rem"


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
    url: str
    words: str
    x: str
    width: str
    text_x: str
    short: str
    shows_words: bool
    shows_band: bool
    low_x: str
    high_x: str
    band_y: str


@dataclass(frozen=True, slots=True)
class Line:
    kiln: Any
    bars: list[Drawn] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days in a row on which nobody loads: every week so, or off."""

    x: str
    width: str
    is_off: bool


class Scale:
    def __init__(self, first: date, days: int) -> None:
        self.first, self.days = first, days
        self.width = DAY * days

    def x(self, day: date) -> float:
        return DAY * min(max((day - self.first).days, 0), self.days)

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
    kilns: Iterable[Any],
    charges: Iterable[Any],
    proposals: Iterable[Any],
    horizon: Horizon,
    reader: Any = None,
) -> dict[str, Any]:
    """Charges and proposals come with their stacks; `reader`: who may change bookings is led to them. No queries."""
    kept, planned = list(charges), list(proposals)
    rows = [(kiln, bars_of(kiln, kept, planned, horizon.today)) for kiln in kilns]
    scale = Scale(horizon.first, _days_shown([bar for _kiln, bars in rows for bar in bars], horizon))
    lines = [_line(kiln, bars, scale, may(reader, "closure")) for kiln, bars in rows]
    last = horizon.first + timedelta(days=scale.days)
    return {
        "lines": lines,
        "is_empty": not any(line.bars for line in lines),
        "width": at(scale.width),
        "width_rem": rem(scale.width),
        "row_rem": rem(ROW),
        "axis_rem": rem(AXIS),
        "is_long": scale.days > LONG_DAYS,
        "weeks": [{"x": at(scale.x(day) + 3), "line": at(scale.x(day)), "text": _short(day)} for day in _weeks(scale)],
        "free": _stretches(horizon, scale),
        "today": at(scale.x(horizon.today)) if horizon.first <= horizon.today < last else "",
        "first": horizon.first,
        "last": last,
        "beside": horizon.today,
    }


def _days_shown(bars: Sequence[Bar], horizon: Horizon) -> int:
    """The plan's days, and on to where its last runs have surely ended, in whole weeks."""
    end = horizon.first + timedelta(days=horizon.days)
    latest = max((max(bar.end, bar.high) for bar in bars if bar.kind != "closure" and bar.start < end), default=end)
    days = min(max((latest - horizon.first).days, horizon.days), horizon.days + BEYOND_DAYS - WEEK_DAYS)
    return -(-days // WEEK_DAYS) * WEEK_DAYS


def _weeks(scale: Scale) -> list[date]:
    return [scale.first + timedelta(days=day) for day in range(0, scale.days, WEEK_DAYS)]


def _short(day: date) -> str:
    return date_format(day, "j M")


def _stretches(horizon: Horizon, scale: Scale) -> list[Stretch]:
    found: list[tuple[int, int, bool]] = []
    for day in range(scale.days):
        loads, is_off = horizon.loads[day], horizon.off[day]
        if loads and not is_off:
            continue
        if found and found[-1][0] + found[-1][1] == day and found[-1][2] == is_off:
            found[-1] = (found[-1][0], found[-1][1] + 1, is_off)
        else:
            found.append((day, 1, is_off))
    return [Stretch(at(DAY * begin), at(DAY * count), is_off) for begin, count, is_off in found]


def _line(kiln: Any, bars: Iterable[Bar], scale: Scale, is_owner: bool) -> Line:
    shown = [bar for bar in bars if scale.shows(bar)]
    return Line(kiln, [_drawn(bar, scale, number % 2, is_owner) for number, bar in enumerate(shown)])


def _drawn(bar: Bar, scale: Scale, step: int, is_owner: bool) -> Drawn:
    """`step` sets the bands of neighbours, which overlap, one below the other."""
    last = bar.end + timedelta(days=1) if bar.kind == "closure" else bar.end
    left, right = scale.x(bar.start), scale.x(last)
    words = str(bar.what.reason) if bar.kind == "closure" else wood_of(_items(bar))
    return Drawn(
        bar=bar,
        url=_url(bar, is_owner),
        words=words,
        x=at(left),
        width=at(max(right - left - 1, 2)),
        text_x=at(left + 4),
        short=_fitting(words, right - left),
        shows_words=right - left > WORDS_WIDE,
        shows_band=bar.kind != "closure" and scale.x(bar.low) < scale.width,
        low_x=at(scale.x(bar.low)),
        high_x=at(scale.x(bar.high)),
        band_y=at(BAR_TOP + BAR + BAND_BELOW + step * BAND_STEP),
    )


def _items(bar: Bar) -> Iterable[Any]:
    rows = bar.what.stacks.all() if bar.kind == "charge" else bar.what.shares.all()
    return list(rows)


def _url(bar: Bar, is_owner: bool) -> str:
    """Where the bar leads; only owners change bookings."""
    return reverse(bar.kind, args=[bar.what.pk]) if bar.kind != "closure" or is_owner else ""


def _fitting(words: str, width: float) -> str:
    """As much of the words as stands in a bar so wide."""
    letters = int((width - 8) / LETTER)
    return str(Truncator(words).chars(letters)) if letters >= FEWEST_LETTERS else ""
