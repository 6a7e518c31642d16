"""Fetching what an address names, whatever became of it since its tag was read."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from yard.models import Board, Event, Stack, Why
from yard.models.tagcode import normalise, shown
from yard.receipts import UnplacedError, seen


def any_stack(code: str) -> Stack:
    """The stack that bears or bore a code, standing or gone; UnplacedError (a 404) without one."""
    stack = _bearer(code)
    if stack is None:
        raise UnplacedError(Why.UNKNOWN, f"no such stack {code}")
    return stack


def standing_stack(request: HttpRequest, code: str, related: Sequence[str] = ()) -> Stack:
    """The stack that a code stands for now: with a replaced tag, and where its boards were joined into another, too.

    Says what became of it since. Raises UnplacedError (a 404) when it is used up, or no stack bears the code.
    """
    found = _bearer(code, related)
    if found is None:
        raise UnplacedError(Why.UNKNOWN, f"no such stack {code}")
    stack = found if found.joined_into is None else any_stack(found.at_last.code)
    if stack.used_at:
        raise UnplacedError(Why.USED, f"{code} is used up")
    say_joined(request, found, stack)
    _say_split(request, stack)
    return stack


def say_joined(request: HttpRequest, stack: Stack, last: Stack) -> None:
    if last.pk != stack.pk:
        names = {"old": shown(stack.code), "new": shown(last.code)}
        messages.info(request, _("%(old)s was joined into %(new)s: this goes there.") % names)


def any_board(code: str) -> Board:
    """The board that bears or bore a code, with its stack; UnplacedError (a 404) without one."""
    boards = Board.objects.select_related("stack__species", "stack__place")
    board = boards.filter(tags__code=normalise(code)).first()
    if board is None:
        raise UnplacedError(Why.UNKNOWN, f"no board {code}")
    return board


def events_since(request: HttpRequest, stack: Stack) -> list[Event]:
    """What others did to the stack since the version that the form was filled in against, in the order it was told.

    One's own doings are no surprise: a phone that sends three things it kept saw the same version for all of them.
    """
    version = seen(request)
    if version is None:
        return []
    return list(stack.events.filter(pk__gt=version).exclude(by=request.user.pk).order_by("pk"))


def bears(stack: Stack, code: str) -> bool:
    """Whether the code is or was this stack's own, not one's that was joined into it."""
    return stack.tags.filter(code=normalise(code)).exists()


def _bearer(code: str, related: Sequence[str] = ()) -> Stack | None:
    """By any tag that the stack has or had: a replaced one still knows its stack."""
    stacks = Stack.objects.select_related("species", "place", "joined_into", *related)
    return stacks.filter(tags__code=normalise(code)).first()


def _say_split(request: HttpRequest, stack: Stack) -> None:
    """The figures count for what bears the tag; the person may have had the whole in mind."""
    for event in events_since(request, stack):
        into = event.details.get("into")
        if event.kind == Event.Kind.SPLIT and into:
            count = event.details.get("boards", 0)
            text = ngettext(
                "%(count)d board was split off into %(code)s meanwhile.",
                "%(count)d boards were split off into %(code)s meanwhile.",
                count,
            )
            messages.info(request, text % {"count": count, "code": shown(into)})
