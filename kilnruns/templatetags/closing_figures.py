"""Figures inside the sentences about a run's end: the locale's digits, a narrow no-break space, the unit."""

from django.utils.formats import number_format

NOTHING = "–"


def number(value: float | None, decimals: int = 0) -> str:
    """Never "-0"; a dash where there is none."""
    if value is None:
        return NOTHING
    return number_format(round(float(value), decimals) or 0.0, decimals, use_l10n=True, force_grouping=True)


def pct(value: float | None, decimals: int = 1) -> str:
    """As "10.4 %"."""
    return NOTHING if value is None else f"{number(value, decimals)}\u202f%"


def pct_short(value: float) -> str:
    """Without a needless ".0": "8 %"."""
    return pct(value, 0 if float(value).is_integer() else 1)
