"""Tags: made blank, hung on a stack or a board, replaced when lost."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from yard.changes import Watched, kept
from yard.models import Board, Event, Stack, Tag, log

MOST_AT_ONCE = 500


@transaction.atomic
def make_blank(*, count: int, by: Any) -> list[Tag]:
    """Make `count` blank tags, 1 to MOST_AT_ONCE. Raises ValidationError for another number."""
    if not 1 <= count <= MOST_AT_ONCE:
        raise ValidationError(_("Ask for 1 to %(most)d tags at once.") % {"most": MOST_AT_ONCE})
    return Tag.objects.bulk_create(Tag(made_by=by) for _number in range(count))


@transaction.atomic
def take_blank(*, code: str | None, by: Any) -> Tag:
    """The blank tag of a code, locked until the transaction ends; a fresh one for None.

    Raises ValidationError when the yard has no such tag, or when it isn't blank (any more: two people may have
    scanned it at once).
    """
    if code is None:
        return Tag.objects.create(made_by=by)
    tag = Tag.objects.select_for_update().filter(code=code).first()
    if tag is None:
        raise ValidationError(_("No tag of this yard bears that code."), code="unknown")
    if not tag.is_blank:
        raise ValidationError(_("That tag hangs on another stack or board already."), code="taken")
    return tag


@transaction.atomic
def replace(
    *, stack: Stack | None = None, board: Board | None = None, by: Any, at: datetime, code: str | None = None
) -> Tag:
    """Give a stack or a board a new tag: the blank one of `code`, or a fresh one to print. The old one points to it.

    Raises ValidationError when the tag of `code` isn't blank.
    """
    bearer = stack or board
    if bearer is None:
        raise ValueError("a stack or a board is needed")
    owner = stack or (board.stack if board else None)
    about = [owner] if owner else []
    with kept("retagged", Watched(about, [type(bearer)._base_manager.filter(pk=bearer.pk)]), by=by, at=at):
        new = take_blank(code=code, by=by)
        old = bearer.tags.select_for_update().get(replaced_by=None)
        old.replaced_by, old.replaced_at = new, at
        old.save(update_fields=["replaced_by", "replaced_at"])
        new.stack, new.board = stack, board
        new.save(update_fields=["stack", "board"])
        bearer.code = new.code
        bearer.save(update_fields=["code"])
        log(about, Event.Kind.RETAGGED, at=at, by=by, old=old.code, new=new.code)
    return new
