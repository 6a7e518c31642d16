"""Figures as people read them: locale's digits, a narrow no-break space, the unit. Nothing measured shows a dash."""

from datetime import date, datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from yard.measures.told import NOTHING, number, with_unit

# A meter reads to a tenth of a per cent below fibre saturation; above it not even the per cent is certain.
COARSE_FROM_PCT = 30.0


def pct_decimals(*values: float | None) -> int:
    """One decimal when all are below 30 %, none above."""
    return 1 if all(value is None or value < COARSE_FROM_PCT for value in values) else 0


def pct(value: float | None, decimals: int | None = None) -> str:
    """Per cent: "23.8 %", from 30 % on "34 %"."""
    return with_unit(value, pct_decimals(value) if decimals is None else int(decimals), "%")


def pct_short(value: float) -> str:
    """Per cent without a needless ".0": "20 %", "7.5 %"; for targets and words in drawings."""
    return with_unit(value, 0 if float(value).is_integer() else pct_decimals(value), "%")


def pct_band(low: float | None, high: float | None) -> str:
    """A band in per cent: "22.4 to 25.3 %"."""
    if low is None or high is None:
        return NOTHING
    decimals = pct_decimals(low, high)
    return _("%(low)s to %(high)s") % {"low": number(low, decimals), "high": with_unit(high, decimals, "%")}


def days(value: float | None) -> str:
    """Whole days: "1 day", "15 days"."""
    if value is None:
        return NOTHING
    count = round(float(value))
    unit = ngettext("day", "days", count)
    return with_unit(count, 0, unit)


def day(value: date | datetime | None, beside: date | None = None) -> str:
    """A day: "19 June 2026"; "19 June" when `beside` is a day of the same year."""
    if value is None:
        return NOTHING
    if isinstance(value, datetime):
        value = timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
    return date_format(value, "j F" if beside and beside.year == value.year else "j F Y")


def day_band(low: date | None, high: date | None, beside: date | None = None) -> str:
    """Two days: "14 to 27 June", "28 July to 20 August"."""
    if low is None or high is None:
        return NOTHING
    same_month = (low.year, low.month) == (high.year, high.month)
    first = date_format(low, "j") if same_month else day(low, high if low.year == high.year else beside)
    return _("%(low)s to %(high)s") % {"low": first, "high": day(high, beside)}
