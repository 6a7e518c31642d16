"""Forecasts made anew after a change: at once, or all of them together when many rows are written."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.db import transaction

from yard import outlook
from yard.models import Outlook, Stack

_together: ContextVar[set[int] | None] = ContextVar("stacks_to_forecast_together", default=None)


@contextmanager
def together() -> Iterator[None]:
    """One transaction; the forecasts that it makes due are made in one batch after it, not one after each row."""
    pks: set[int] = set()
    with transaction.atomic():
        token = _together.set(pks)
        try:
            yield
        finally:
            _together.reset(token)
        transaction.on_commit(lambda: outlook.refresh(Stack.objects.filter(pk__in=pks)), robust=True)


def due(stacks: Iterable[Stack]) -> None:
    """Drop forecasts that no longer hold, and make them anew once all is written.

    Not before, so that the database's write lock isn't held for it; and if it fails then, what was done in the yard is
    kept all the same, and the next page that needs the forecast makes it.
    """
    stacks = list(stacks)
    pks = {stack.pk for stack in stacks}
    if not pks:
        return
    Outlook.objects.filter(stack__in=Stack.objects.drying().filter(pk__in=pks)).delete()
    if not is_put_off(stacks):
        transaction.on_commit(lambda: outlook.refresh(stacks), robust=True)


def is_put_off(stacks: Iterable[Stack]) -> bool:
    """Whether these stacks' forecasts are made with others' later; they are then noted for it."""
    pks = _together.get()
    if pks is None:
        return False
    pks.update(stack.pk for stack in stacks)
    return True
