"""A stack of the demo mill that is kept for a need, whose day is promised."""

from datetime import date
from typing import Any

from django.utils import timezone

from yard import outlook
from yard.actions.needs import promise, reserve
from yard.models import Need, Stack


def promise_one(today: date, by: Any) -> None:
    """The first need, by its day, that stacks serve of which somebody can say when they are dry."""
    for wanted in outlook.wanted(Need.objects.open().with_lines(), today):
        found = [(line, one) for line in wanted.lines for one in line.serving if one.is_dry or one.days]
        if found:
            line, server = found[0]
            volume = min(server.free_m3, line.lacking_m3)
            stack = Stack.objects.get(pk=server.stack.pk)
            reserve(line=line.line, stack=stack, volume_m3=volume, by=by, at=timezone.now())
            _promise(wanted.need, today, by)
            return


def _promise(need: Need, today: date, by: Any) -> None:
    (wanted,) = outlook.wanted(Need.objects.filter(pk=need.pk).with_lines(), today)
    if wanted.promise:
        day = wanted.promise.sure
        promise(need=need, day=day, chance=wanted.promise.chance(day), by=by, at=timezone.now())
