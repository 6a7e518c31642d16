"""What a person says about what the yard has learned: leave a stack out, put it back, reset. All of it is logged.

Forecasts of drying stacks are forgotten with each, so that they follow at once.
"""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from yard import outlook
from yard.models import LearningChange, Place, Species, Stack

Kind = LearningChange.Kind


@transaction.atomic
def leave_out(*, stack: Stack, reason: str, by: Any, at: datetime) -> LearningChange:
    """The stack teaches nothing: a wrong tag, a wet pocket. Raises ValidationError when it is left out already."""
    if _is_left_out(stack):
        raise ValidationError(_("This stack is left out already."))
    return _say(Kind.LEFT_OUT, stack=stack, reason=reason, by=by, at=at)


@transaction.atomic
def put_back(*, stack: Stack, reason: str, by: Any, at: datetime) -> LearningChange:
    """The stack teaches again. Raises ValidationError when it isn't left out."""
    if not _is_left_out(stack):
        raise ValidationError(_("This stack counts already."))
    return _say(Kind.PUT_BACK, stack=stack, reason=reason, by=by, at=at)


@transaction.atomic
def reset(
    *, species: Species | None = None, place: Place | None = None, reason: str, by: Any, at: datetime
) -> LearningChange:
    """What was read up to now teaches nothing more about a species, a place (or kiln), both, or with neither at all."""
    return _say(Kind.RESET, species=species, place=place, reason=reason, by=by, at=at)


def _is_left_out(stack: Stack) -> bool:
    """By the last line on it, the stack's row locked so that two people's lines come one after the other."""
    Stack.objects.select_for_update().only("pk").get(pk=stack.pk)
    last = LearningChange.objects.filter(stack=stack).first()
    return last is not None and last.kind == Kind.LEFT_OUT


def _say(kind: str, **given: Any) -> LearningChange:
    row = LearningChange.objects.create(kind=kind, **given)
    outlook.forget_learned()
    return row
