"""Boards with a tag of their own."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from yard.actions.tags import take_blank
from yard.changes import Watched, keeps
from yard.models import Board, Event, Stack, log


@transaction.atomic
@keeps("board_tagged", lambda stack, **_given: Watched([stack]), lambda board: ([], [board]))
def make_board(
    *, stack: Stack, length_mm: int, width_mm: int, note: str = "", code: str | None = None, by: Any, at: datetime
) -> Board:
    """Hang a tag on one board of a standing stack: the blank tag of `code`, or a fresh one to print.

    The board stays in the stack's tally. Raises ValidationError when the tag isn't blank or the stack is gone.
    """
    if not stack.is_standing:
        raise ValidationError(_("This stack is no longer in the yard."))
    tag = take_blank(code=code, by=by)
    board = Board.objects.create(stack=stack, code=tag.code, length_mm=length_mm, width_mm=width_mm, note=note)
    tag.board = board
    tag.save(update_fields=["board"])
    log([stack], Event.Kind.BOARD, at=at, by=by, board=board.code, length_mm=length_mm, width_mm=width_mm)
    return board
