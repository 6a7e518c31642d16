"""What sensors told over a run, as lines of a drawing, as words below it, and as rows of the table beside it."""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime

from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from kilnruns.running.history import History, Probe
from yard.measures.told import celsius


def path(points: Sequence[tuple[float, float]]) -> str:
    """An SVG path through places in a drawing."""
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points) if points else ""


def sensed_lines(probes: Sequence[Probe], place: Callable[[datetime, float], tuple[float, float]]) -> list[str]:
    """A path for each probe."""
    return [path([place(at, pct) for at, pct in probe.line]) for probe in probes]


def probe_words(probes: Sequence[Probe]) -> str:
    """What thin lines of moisture are, and by which wood's curve they were read."""
    if not probes:
        return ""
    read_as = next((one for one in probes if one.read_as is not None), None)
    if read_as is None:
        return _("Thin: probes in the wood.")
    words = {"wood": read_as.read_as.name if read_as.read_as else ""}
    if read_as.own_curve:
        return _("Thin: probes in the wood, read as %(wood)s at its warmth.") % words
    return _("Thin: probes in the wood, read as Douglas fir at its warmth: %(wood)s has no curve of its own.") % words


def sensed_rows(history: History) -> Iterator[tuple[datetime, str, str]]:
    """What each sensor told last on each day."""
    lines = [(probe.name, probe.line, _pct) for probe in history.probes]
    lines += [(_("dry bulb, sensor"), line, celsius) for line in history.dry_bulb]
    lines += [(_("wet bulb, sensor"), line, celsius) for line in history.wet_bulb]
    for name, line, words in lines:
        by_day = {timezone.localtime(at).date(): (at, value) for at, value in line}
        for at, value in by_day.values():
            yield at, name, words(value)


def _pct(value: float) -> str:
    return _("%(n)s %%") % {"n": number_format(round(value, 1), 1)}
