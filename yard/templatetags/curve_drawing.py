"""The drying curve as lines and points: history, forecast with its band, readings, target, today, all to scale."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from yard.templatetags.amounts import day, pct, pct_band, pct_short
from yard.templatetags.strip_drawing import bare

WIDTH, HEIGHT = 360.0, 236.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, 352.0, 26.0, 208.0
# Shown ahead: two weeks past the late end of the ready band, or half a year where it is never ready.
DAYS_PAST_READY, DAYS_IF_NEVER, DAYS_AHEAD_AT_LEAST = 14, 180, 28
MOST_POINTS, MOST_MONTHS, ROWS_AHEAD = 90, 6, 8
LABEL_HEIGHT, DAY_LABEL_ROOM = 14.0, 46.0


class Outlook(Protocol):
    """What the drawing needs of a stack's forecast: `curve` maps day (ordinals), p10, p50, p90 (%) to equal lists."""

    curve: dict[str, Sequence[float]]
    as_of: date
    ready_p10: date | None
    ready_p50: date | None
    ready_p90: date | None


@dataclass(frozen=True, slots=True)
class Point:
    """One day of the curve: proleptic ordinal and moisture (%) at P10, P50, P90."""

    day: int
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading: ordinal of its day and its moisture (%)."""

    day: int
    moisture_pct: float


@dataclass(frozen=True, slots=True)
class Frame:
    """The scales: days and per cent to places in the drawing."""

    first: int
    last: int
    top_pct: float

    def x(self, ordinal: float) -> float:
        share = (ordinal - self.first) / max(self.last - self.first, 1)
        return LEFT + (RIGHT - LEFT) * min(max(share, 0.0), 1.0)

    def y(self, moisture_pct: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * min(moisture_pct / self.top_pct, 1.0)


def points_of(outlook: Outlook) -> list[Point]:
    """The kept curve, oldest day first."""
    curve = outlook.curve
    columns = zip(curve["day"], curve["p10"], curve["p50"], curve["p90"], strict=True)
    return [Point(int(d), float(low), float(mid), float(high)) for d, low, mid, high in columns]


def dots_of(readings: Iterable[Any]) -> list[Dot]:
    """Readings oldest first; those voided are left out."""
    valid = [r for r in readings if getattr(r, "voided_at", None) is None]
    return sorted((Dot(local_day(r.taken_at).toordinal(), float(r.moisture_pct)) for r in valid), key=lambda d: d.day)


def local_day(moment: date | datetime) -> date:
    if not isinstance(moment, datetime):
        return moment
    return (timezone.localtime(moment) if timezone.is_aware(moment) else moment).date()


def last_day(outlook: Outlook, points: Sequence[Point], today: date) -> int:
    """The last day shown."""
    ready = outlook.ready_p90 or outlook.ready_p50
    wanted = ready.toordinal() + DAYS_PAST_READY if ready else today.toordinal() + DAYS_IF_NEVER
    return min(max(wanted, today.toordinal() + DAYS_AHEAD_AT_LEAST), points[-1].day)


def frame_of(outlook: Outlook, points: Sequence[Point], dots: Sequence[Dot], today: date) -> Frame:
    """Scales that hold all that is shown; the per cent end on a round figure."""
    first = min([points[0].day, *(d.day for d in dots)])
    last = max(last_day(outlook, points, today), points[0].day + 1)
    highest = max([*(p.high for p in points if p.day <= last), *(d.moisture_pct for d in dots), 10.0])
    step = grid_step(highest)
    return Frame(first, last, step * -(-highest // step))


def grid_step(highest_pct: float) -> int:
    return next((step for step in (5, 10, 20, 40) if highest_pct <= 5 * step), 50)


def thinned(points: Sequence[Point], last: int) -> list[Point]:
    """Few enough points for a drawing, the ends kept."""
    shown = [p for p in points if p.day <= last]
    stride = max(1, -(-len(shown) // MOST_POINTS))
    kept = shown[::stride]
    return kept if kept[-1] is shown[-1] else [*kept, shown[-1]]


def moisture_on(points: Sequence[Point], ordinal: int) -> Point:
    """The curve on a day: straight between its points, its ends held."""
    after = next((i for i, p in enumerate(points) if p.day >= ordinal), len(points) - 1)
    before = max(after - 1, 0)
    a, b = points[before], points[after]
    part = min(max((ordinal - a.day) / (b.day - a.day), 0.0), 1.0) if b.day != a.day else 0.0
    mixed = (x + part * (y - x) for x, y in ((a.low, b.low), (a.middle, b.middle), (a.high, b.high)))
    return Point(ordinal, *mixed)


def path(frame: Frame, places: Iterable[tuple[float, float]]) -> str:
    """An SVG path through days and per cent; empty when there is nothing to join."""
    joined = "L".join(f"{frame.x(d):.1f} {frame.y(m):.1f}" for d, m in places)
    return f"M{joined}" if "L" in joined else ""


def months(frame: Frame) -> list[date]:
    """The firsts of months within the frame, at most MOST_MONTHS of them."""
    start = date.fromordinal(frame.first)
    count = start.year * 12 + start.month
    ordinals = [date(n // 12, n % 12 + 1, 1) for n in range(count, count + 12 * 6)]
    inside = [d for d in ordinals if d.toordinal() <= frame.last - (frame.last - frame.first) // 12]
    step = next((s for s in (1, 2, 3, 6) if len(inside) <= s * MOST_MONTHS), 12)
    return [d for d in inside if (d.month - 1) % step == 0]


def month_labels(frame: Frame) -> list[dict[str, str]]:
    """Ticks of the time axis; January bears the year. Where months leave room or are few, the ends say their day."""
    firsts = months(frame)
    labels = [tick(frame, d, date_format(d, "Y" if d.month == 1 else "M")) for d in firsts]
    start, end = date.fromordinal(frame.first), date.fromordinal(frame.last)
    if not firsts or frame.x(firsts[0].toordinal()) > LEFT + DAY_LABEL_ROOM:
        labels.insert(0, tick(frame, start, date_format(start, "j M")))
    if len(labels) < 2:
        labels.append(tick(frame, end, date_format(end, "j M"), "end"))
    return labels


def tick(frame: Frame, on: date, text: str, anchor: str = "start") -> dict[str, str]:
    return {"x": f"{frame.x(on.toordinal()):.1f}", "text": text, "anchor": anchor}


def grid(frame: Frame) -> list[dict[str, str]]:
    """The lines of per cent with their figures; the topmost says the unit."""
    step = grid_step(frame.top_pct)
    lines = [float(m) for m in range(step, int(frame.top_pct) + 1, step)]
    return [{"y": f"{frame.y(m):.1f}", "text": pct(m, 0) if m == lines[-1] else bare(m)} for m in lines]


def level_labels(frame: Frame, target: float | None, place: float | None) -> dict[str, Any]:
    """Target and what the air allows, as lines with words that don't run into each other."""
    levels: dict[str, Any] = {"aim": None, "place": None}
    if target is not None:
        y = frame.y(target)
        words = _("target %(target)s") % {"target": pct_short(target)}
        levels["aim"] = {"y": f"{y:.1f}", "text_y": f"{y - 7:.1f}", "text": words}
    if place is not None:
        y = frame.y(place)
        below = target is not None and place <= target
        text_y = y + LABEL_HEIGHT if below else y - 7
        levels["place"] = {
            "y": f"{y:.1f}",
            "text_y": f"{text_y:.1f}",
            "text": _("air allows %(place)s") % {"place": pct_short(place)},
        }
    return levels


def today_line(frame: Frame, today: date) -> dict[str, str] | None:
    ordinal = today.toordinal()
    if not frame.first <= ordinal <= frame.last:
        return None
    x = frame.x(ordinal)
    right = x > (LEFT + RIGHT) * 0.7
    return {"x": f"{x:.1f}", "text_x": f"{x - 4 if right else x + 4:.1f}", "anchor": "end" if right else "start"}


def ready_bar(frame: Frame, outlook: Outlook, target: float | None) -> dict[str, str] | None:
    """The band of ready days, lying on the target's line."""
    low, middle, high = outlook.ready_p10, outlook.ready_p50, outlook.ready_p90
    if target is None or low is None or middle is None:
        return None
    first, mid = frame.x(low.toordinal()), frame.x(middle.toordinal())
    last = frame.x(high.toordinal()) if high else RIGHT
    return {"y": f"{frame.y(target):.1f}", "first": f"{first:.1f}", "middle": f"{mid:.1f}", "last": f"{last:.1f}"}


def in_words(outlook: Outlook, points: Sequence[Point], today: date, target: float | None) -> str:
    """What the drawing says, for whoever can't see it."""
    start, now = points[0], moisture_on(points, today.toordinal())
    said = _("Moisture from %(first)s on %(start)s to %(now)s today (%(band)s).") % {
        "first": pct(start.middle),
        "start": day(date.fromordinal(start.day), today),
        "now": pct(now.middle),
        "band": pct_band(now.low, now.high),
    }
    if target is None:
        return said
    return f"{said} {ready_words(outlook, today, target)}"


def ready_words(outlook: Outlook, today: date, target: float) -> str:
    middle = outlook.ready_p50
    if middle is None:
        return _("Not forecast to reach %(target)s.") % {"target": pct_short(target)}
    words = _("Reaches %(target)s about %(day)s") % {"target": pct_short(target), "day": day(middle, today)}
    if outlook.ready_p10 and outlook.ready_p90:
        return _("%(words)s, four times in five between %(low)s and %(high)s.") % {
            "words": words,
            "low": day(outlook.ready_p10, today),
            "high": day(outlook.ready_p90, today),
        }
    return f"{words}."
