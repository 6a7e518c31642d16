"""Two people's corrections of one stack: what each changed is kept, what both changed is told."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from yard.models import Event

TALLY = "tally"


@dataclass(frozen=True, slots=True)
class Theirs:
    """What others made of a field meanwhile: its value before and after, None where it can't be told."""

    before: Any
    after: Any
    by: Any


def changed(events: Iterable[Event]) -> dict[str, Theirs]:
    """What events in their order changed, by field; the tally under TALLY."""
    found: dict[str, Theirs] = {}
    for event in events:
        pairs = dict(event.details.get("changes", {}))
        if TALLY in event.details:
            pairs[TALLY] = event.details[TALLY]
        if event.kind in (Event.Kind.SPLIT, Event.Kind.JOINED):
            pairs[TALLY] = (None, None)
        for name, (old, new) in pairs.items():
            found[name] = Theirs(found[name].before if name in found else old, new, event.by)
    return found


def merged(mine: dict[str, Any], theirs: dict[str, Theirs]) -> tuple[dict[str, Any], dict[str, Theirs]]:
    """What of `mine` to write, and what both changed, each in their own way.

    `mine` holds what differs from what stands there now. Where it is what stood there before, I did not touch it:
    then theirs stays.
    """
    theirs = {name: one for name, one in theirs.items() if one.before is None or not _is(one.after, one.before)}
    both = {
        name: theirs[name] for name, value in mine.items() if name in theirs and not _is(value, theirs[name].before)
    }
    kept = {name: value for name, value in mine.items() if name not in theirs or name in both}
    return kept, both


def _is(value: Any, before: Any) -> bool:
    if isinstance(value, list):
        return before is not None and Counter(map(tuple, value)) == Counter(map(tuple, before))
    return _plain(value) == _plain(before)


def _plain(value: Any) -> Any:
    """The history keeps values as text; 27 and 27.0 are one thickness."""
    try:
        return float(value)
    except (TypeError, ValueError):
        return str(value)
