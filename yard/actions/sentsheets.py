"""Sheets sent in: kept for their sender until taken, dropped, or too old; and written row by row in one transaction."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from yard.actions import boards, forecasts, needs, stacks
from yard.actions.readings import add_reading
from yard.changes import unkept
from yard.models import Board, Need, SentSheet, Stack, Tag
from yard.models.sentsheet import KEPT

Row = dict[str, Any]
HOLDERS = ("place", "set_aside_for", "kiln_dried_on", "tally")
"""Columns of a stack that an action of their own writes."""


@dataclass(frozen=True, slots=True)
class Step:
    """What one good row does: `values` by field, of a new thing or, where `thing` is given, as changes to it."""

    kind: str
    values: Row
    thing: Stack | Board | Need | None = None
    code: str | None = None
    extra: Row = field(default_factory=dict)


@transaction.atomic
def keep_sheet(*, kind: str, name: str, content: bytes, by: Any, at: datetime) -> SentSheet:
    """Keep a file for its sender; the sender's older one of the kind and all that are too old go."""
    SentSheet.objects.filter(sent_at__lt=at - KEPT).delete()
    SentSheet.objects.filter(by=by, kind=kind).delete()
    return SentSheet.objects.create(by=by, kind=kind, name=name[:200], content=content, sent_at=at)


def take(*, sheet: SentSheet, steps: Sequence[Step], by: Any, at: datetime) -> None:
    """Write all steps or none, and let the file go."""
    with forecasts.together(), unkept():
        for step in steps:
            _TAKE[step.kind](step, by, at)
        sheet.delete()


def _stack(step: Step, by: Any, at: datetime) -> None:
    values = {name: value for name, value in step.values.items() if name not in HOLDERS}
    tally = step.values.get("tally")
    stack = step.thing
    if not isinstance(stack, Stack):
        tag = _tag(step.code, by)
        made = Stack(**values, place=step.values["place"])
        stack = stacks.make_stack(tag=tag, stack=made, lines=tally or [], by=by, at=at)
    else:
        stacks.correct(stack=stack, changes=values, lines=tally, by=by, at=at)
        if "place" in step.values:
            stacks.move(stacks=[stack], place=step.values["place"], by=by, at=at)
    if step.values.get("kiln_dried_on"):
        stacks.mark_kiln_dried(stacks=[stack], on=step.values["kiln_dried_on"], by=by, at=at)
    _set_aside(stack, step.values, by, at)


def _set_aside(stack: Stack, values: Row, by: Any, at: datetime) -> None:
    for_what = values.get("set_aside_for")
    if for_what is not None and stack.set_aside_for:
        stacks.release(stacks=[stack], by=by, at=at)
    if for_what:
        stacks.set_aside(stacks=[stack], for_what=for_what, by=by, at=at)


def _board(step: Step, by: Any, at: datetime) -> None:
    tag = _tag(step.code, by)
    boards.make_board(**step.values, code=tag.code if tag else None, by=by, at=at)


def _reading(step: Step, by: Any, at: datetime) -> None:
    add_reading(**step.values, by=by)


def _need(step: Step, by: Any, at: datetime) -> None:
    """A need and, in `extra`, the fields of a line of it with the line that they change. An earlier row may have made
    the need."""
    need = step.thing
    if not isinstance(need, Need):
        made = Need.objects.open().filter(name=step.values["name"], wanted_by=step.values["wanted_by"]).first()
        need = made or needs.add_need(by=by, **step.values)
    elif step.values:
        for name, value in step.values.items():
            setattr(need, name, value)
        needs.change_need(need=need, by=by, at=at)
    fields, line = step.extra.get("fields"), step.extra.get("line")
    if fields and line:
        needs.change_line(line=line, by=by, **fields)
    elif fields:
        needs.add_line(need=need, by=by, **fields)


def _tag(code: str | None, by: Any) -> Tag | None:
    """The tag that a row names. A code from another yard's sheet is made a tag of this one."""
    return Tag.objects.get_or_create(code=code, defaults={"made_by": by})[0] if code else None


_TAKE = {"stacks": _stack, "boards": _board, "readings": _reading, "needs": _need}
