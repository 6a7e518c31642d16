"""Where a phone's copy of the yard stands, so that only what came after it is sent.

Rows are seen by key. Keys are given out before their transaction commits, so a smaller one may come to sight after a
greater: the keys missing below the last one seen are remembered as ranges, and looked for again. What changes without
a new key (a forecast made anew) is seen by its time, with a minute's overlap. Parts that are small are compared whole,
by their digest.
"""

import base64
import binascii
import itertools
import json
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db.models import Model, Q
from django.utils.translation import get_language

from yard.measures.system import told

FORMAT = 5
"""Of the answer. Raised when rows gain or lose something, so that each phone fetches its copy anew."""
LOOKED_BACK, RANGES = 500, 40
OVERLAP = timedelta(minutes=1)
OLDEST = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class Seen:
    """The last key seen of a table, and the ranges of keys below it that were not there (both ends included)."""

    last: int = 0
    gaps: tuple[tuple[int, int], ...] = ()

    @classmethod
    def of(cls, model: type[Model]) -> "Seen":
        """As the table stands now; one query."""
        keys = list(model._default_manager.order_by("-pk").values_list("pk", flat=True)[:LOOKED_BACK])
        if not keys:
            return cls()
        found = [(low + 1, high - 1) for high, low in itertools.pairwise(keys) if high - low > 1]
        found.reverse()
        if len(found) > RANGES:
            found = [(found[0][0], found[-RANGES][1]), *found[-RANGES + 1 :]]
        return cls(keys[0], tuple(found))

    def unseen(self) -> Q:
        """Rows that came after, or that were not in sight then."""
        wanted = Q(pk__gt=self.last)
        for low, high in self.gaps:
            wanted |= Q(pk__range=(low, high))
        return wanted


@dataclass(frozen=True, slots=True)
class Cursor:
    """What the phone has. `parts`: digests of the parts that are compared whole, by name. `brought`: the key up to
    which it has the stacks, while its first copy is brought in pages; 0 when it has them all."""

    at: datetime
    user: str
    events: Seen
    samples: Seen
    tags: Seen
    parts: dict[str, str] = field(default_factory=dict)
    brought: int = 0

    @property
    def since(self) -> datetime:
        """From when on changes are sent that are known by their time."""
        return self.at - OVERLAP

    def written(self) -> str:
        seen = [[seen.last, seen.gaps] for seen in (self.events, self.samples, self.tags)]
        parts = [_format(), self.at.timestamp(), self.user, self.brought, *seen, self.parts]
        body = json.dumps(parts, separators=(",", ":"))
        return base64.urlsafe_b64encode(body.encode()).decode().rstrip("=")


def read(text: str) -> Cursor | None:
    """The cursor that a phone sends back; None for none, or for one that can't be understood (any more)."""
    try:
        body = json.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)))
        form, at, user, brought, *seen, parts = body
        if form != _format() or not isinstance(parts, dict):
            return None
        events, samples, tags = (_seen(one) for one in seen)
        return Cursor(datetime.fromtimestamp(at, UTC), str(user), events, samples, tags, parts, int(brought))
    except (ValueError, TypeError, KeyError, OverflowError, OSError, binascii.Error):
        return None


def _format() -> list[Any]:
    """Figures are kept in words: another language or other units ask for the whole copy anew."""
    return [FORMAT, get_language(), told()]


def _seen(body: Any) -> Seen:
    last, gaps = body
    return Seen(int(last), tuple((int(low), int(high)) for low, high in gaps[:RANGES]))


def still_holds(cursor: Cursor | None, now: Cursor) -> bool:
    """Whether changes since the cursor are enough: of the same user, not too old, and not from another database."""
    if cursor is None or cursor.user != now.user:
        return False
    grown = cursor.events.last <= now.events.last and cursor.tags.last <= now.tags.last
    return grown and now.at - OLDEST < cursor.at <= now.at + OVERLAP
