"""The drying curve as a table: the same content as the drawing, for whoever can't see it or wants the figures."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from yard.templatetags.amounts import day, pct, pct_band
from yard.templatetags.curve_drawing import ROWS_AHEAD, Dot, Frame, Outlook, Point, moisture_on

Row = dict[str, str]


def row(ordinal: int, today: date, what: str, moisture: float, band: str = "") -> Row:
    return {"day": day(date.fromordinal(ordinal), today), "what": what, "moisture": pct(moisture), "band": band}


def of_curve(points: Sequence[Point], ordinal: int, today: date, what: str) -> Row:
    point = moisture_on(points, ordinal)
    return row(ordinal, today, what, point.middle, pct_band(point.low, point.high))


def days_ahead(frame: Frame, today: date) -> list[int]:
    """Some days from today to the drawing's end, evenly apart in whole days."""
    step = max(1, -(-(frame.last - today.toordinal()) // ROWS_AHEAD))
    return list(range(today.toordinal() + step, frame.last + 1, step))


def table(outlook: Outlook, points: Sequence[Point], dots: Sequence[Dot], frame: Frame, today: date) -> list[Row]:
    """Readings, today, the days ahead and the ready day, in the order of days."""
    now = today.toordinal()
    rows = [(points[0].day, of_curve(points, points[0].day, today, _("stacked")))]
    rows += [(dot.day, row(dot.day, today, _("reading"), dot.moisture_pct)) for dot in dots]
    rows.append((now, of_curve(points, now, today, _("today"))))
    rows += [(ahead, of_curve(points, ahead, today, _("forecast"))) for ahead in days_ahead(frame, today)]
    if outlook.ready_p50 and outlook.ready_p50 > today:
        ready = outlook.ready_p50.toordinal()
        rows.append((ready, of_curve(points, ready, today, _("reaches the target, as likely before as after"))))
    return [content for _ordinal, content in sorted(rows, key=lambda pair: pair[0])]
