"""Needs: wanted in lines, kept wood for, promised, met, or wanted again."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from yard import outlook
from yard.models import Need, NeedLine, Reservation, Species, Stack


def add_need(*, by: Any, **fields: Any) -> Need:
    """Wanted from now on, without lines yet; `fields` are those of Need."""
    need: Need = Need.objects.create(**fields)
    return need


def change_need(*, need: Need, by: Any, **fields: Any) -> Need:
    for name, value in fields.items():
        setattr(need, name, value)
    need.save(update_fields=list(fields))
    return need


@transaction.atomic
def add_line(*, need: Need, species: Iterable[Species], by: Any, **fields: Any) -> NeedLine:
    """One more size; `fields` are those of NeedLine."""
    line = NeedLine.objects.create(need=need, **fields)
    line.species.set(species)
    return line


@transaction.atomic
def change_line(*, line: NeedLine, species: Iterable[Species], by: Any, **fields: Any) -> NeedLine:
    for name, value in fields.items():
        setattr(line, name, value)
    line.save()
    line.species.set(species)
    return line


@transaction.atomic
def drop_line(*, line: NeedLine, by: Any) -> None:
    """It is no longer wanted; what was reserved for it is free again."""
    line.delete()


@transaction.atomic
def reserve(*, line: NeedLine, stack: Stack, volume_m3: float, by: Any, at: datetime) -> Reservation:
    """Keep so much of a stack for a line; said again, the new volume counts."""
    values = {"volume_m3": volume_m3, "made_at": at, "made_by": by}
    return Reservation.objects.update_or_create(line=line, stack=stack, board=None, defaults=values)[0]


@transaction.atomic
def keep_sawn(*, line: NeedLine, stack: Stack, by: Any, at: datetime) -> Reservation | None:
    """Keep of a stack what was sawn in it for a line and is still lacking there; None where it is of another wood, too
    thin, or nothing is lacking."""
    need = Need.objects.with_lines().get(pk=line.need_id)
    served = next(one for one in outlook.serve([need], timezone.localdate(at))[need.pk] if one.line.pk == line.pk)
    part = outlook.sawn_part(stack, served)
    if part is None:
        return None
    values = {"volume_m3": part.volume_m3, "sawn_for": part.quantity, "made_at": at, "made_by": by}
    return Reservation.objects.update_or_create(line=line, stack=stack, board=None, defaults=values)[0]


@transaction.atomic
def release(*, reservation: Reservation, by: Any) -> None:
    reservation.delete()


@transaction.atomic
def promise(*, need: Need, day: date, chance: float, by: Any, at: datetime) -> Need:
    """Tell whoever waits a day; `chance` is how sure it looked then, 0 to 1."""
    need.promised_on, need.promised_chance, need.promised_at = day, chance, at
    need.save(update_fields=["promised_on", "promised_chance", "promised_at"])
    return need


def meet(*, need: Need, by: Any, at: datetime) -> Need:
    """The wood was handed over, or is no longer wanted."""
    need.met_at = need.met_at or at
    need.save(update_fields=["met_at"])
    return need


def reopen(*, need: Need, by: Any) -> Need:
    """It was said to be met by mistake."""
    need.met_at = None
    need.save(update_fields=["met_at"])
    return need
