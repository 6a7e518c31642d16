"""Fetching what an address names."""

from django.db.models import QuerySet
from django.http import Http404

from yard.models import Board, Stack
from yard.models.tagcode import normalise


def any_stack(code: str) -> Stack:
    """The stack of a code, standing or gone; Http404 without one."""
    return _one(Stack.objects.select_related("species", "place"), code)


def standing_stack(code: str) -> Stack:
    """The stack of a code while it is in the yard or a kiln; Http404 otherwise."""
    return _one(Stack.objects.standing().select_related("species", "place"), code)


def any_board(code: str) -> Board:
    """The board of a code with its stack; Http404 without one."""
    board = Board.objects.select_related("stack__species", "stack__place").filter(code=normalise(code)).first()
    if board is None:
        raise Http404(f"no board {code}")
    return board


def _one(stacks: "QuerySet[Stack]", code: str) -> Stack:
    stack = stacks.filter(code=normalise(code)).first()
    if stack is None:
        raise Http404(f"no such stack {code}")
    return stack
