"""The kinds of change: their words, who may take one back, and how where putting rows back is not enough."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_lazy as _

Inverse = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Kind:
    """`words`: what was done, as a history tells it. `undone`: whether it can be taken back; `owners`, `operators`: by
    whom at least.

    `inverse(change=, by=, at=)`: what takes it back, where that is an action of its own, and `opposite` the kind of
    that action, by whose rules it is done again; without it each row is put back as it was. `check(change=)`: what
    else to look at before. Both raise ValidationError that says why not.
    """

    words: Any
    undone: bool = True
    owners: bool = False
    operators: bool = False
    inverse: Inverse | None = None
    opposite: str = ""
    check: Callable[..., Any] | None = None


UNDONE = "undone"
"""What takes an act back; what takes that back again is of the act's own kind."""
_kinds: dict[str, Kind] = {UNDONE: Kind(_("undone"), undone=False)}
_UNKNOWN = Kind(_("changed"), undone=False)


def register(**kinds: Kind) -> None:
    """What each app knows to do; called when it is ready."""
    _kinds.update(kinds)


def kind_of(name: str) -> Kind:
    """A kind that a later version no longer knows is told as a change, and can't be undone."""
    return _kinds.get(name, _UNKNOWN)
