"""Needs: wanted in lines, kept wood for, promised, met, or wanted again."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from yard import outlook
from yard.changes import Watched, keeps, kept
from yard.models import Need, NeedLine, Reservation, Species, Stack


def of_need(need: Need) -> Watched:
    """All that is kept of a need."""
    through = NeedLine.species.through.objects.filter(needline__need=need.pk)
    lines, reserved = NeedLine.objects.filter(need=need.pk), Reservation.objects.filter(line__need=need.pk)
    return Watched([need], [Need.objects.filter(pk=need.pk), lines, through, reserved])


def add_need(*, by: Any, **fields: Any) -> Need:
    """Wanted from now on, without lines yet; `fields` are those of Need."""
    need: Need = Need.objects.create(**fields)
    return need


@transaction.atomic
def make_need(*, need: Need, species: Iterable[Species], by: Any, at: datetime, **fields: Any) -> Need:
    """Keep a new need with its first line, `fields` of which are those of NeedLine."""
    with kept("need_made", Watched(), by=by, at=at) as act:
        need.save()
        add_line(need=need, species=species, by=by, **fields)
        act.has_made(need)
        act.tell_of(need)
    return need


@transaction.atomic
@keeps("need_changed", lambda need, **_given: of_need(need))
def change_need(*, need: Need, by: Any, at: datetime) -> Need:
    """Save what was changed of it, its lines apart."""
    need.save()
    return need


@transaction.atomic
@keeps("line_added", lambda need, **_given: of_need(need))
def add_line(*, need: Need, species: Iterable[Species], by: Any, **fields: Any) -> NeedLine:
    """One more size; `fields` are those of NeedLine."""
    line = NeedLine.objects.create(need=need, **fields)
    line.species.set(species)
    return line


@transaction.atomic
@keeps("line_changed", lambda line, **_given: of_need(line.need))
def change_line(*, line: NeedLine, species: Iterable[Species], by: Any, **fields: Any) -> NeedLine:
    for name, value in fields.items():
        setattr(line, name, value)
    line.save()
    line.species.set(species)
    return line


@transaction.atomic
@keeps("line_dropped", lambda line, **_given: of_need(line.need))
def drop_line(*, line: NeedLine, by: Any) -> None:
    """It is no longer wanted; what was reserved for it is free again."""
    line.delete()


@transaction.atomic
@keeps("reserved", lambda line, stack, **_given: _of_reserving(line, stack))
def reserve(*, line: NeedLine, stack: Stack, volume_m3: float, by: Any, at: datetime) -> Reservation:
    """Keep so much of a stack for a line; said again, the new volume counts."""
    values = {"volume_m3": volume_m3, "made_at": at, "made_by": by}
    return Reservation.objects.update_or_create(line=line, stack=stack, board=None, defaults=values)[0]


@transaction.atomic
@keeps("reserved", lambda line, stack, **_given: _of_reserving(line, stack))
def keep_sawn(*, line: NeedLine, stack: Stack, by: Any, at: datetime) -> Reservation | None:
    """Keep of a stack what was sawn in it for a line and is still lacking there; None where it is of another wood, too
    thin, or nothing is lacking."""
    need = Need.objects.with_lines().get(pk=line.need_id)
    kept = outlook.serve([need], timezone.localdate(at), outlook.kept_for([need]))[need.pk]
    served = next(one for one in kept if one.line.pk == line.pk)
    part = outlook.sawn_part(stack, served)
    if part is None:
        return None
    values = {"volume_m3": part.volume_m3, "sawn_for": part.quantity, "made_at": at, "made_by": by}
    return Reservation.objects.update_or_create(line=line, stack=stack, board=None, defaults=values)[0]


@transaction.atomic
@keeps("let_go", lambda reservation, **_given: _of_reserving(reservation.line, reservation.stack))
def release(*, reservation: Reservation, by: Any) -> None:
    reservation.delete()


@transaction.atomic
@keeps("promised", lambda need, **_given: of_need(need))
def promise(*, need: Need, day: date, chance: float, by: Any, at: datetime) -> Need:
    """Tell whoever waits a day; `chance` is how sure it looked then, 0 to 1."""
    need.promised_on, need.promised_chance, need.promised_at = day, chance, at
    need.save(update_fields=["promised_on", "promised_chance", "promised_at"])
    return need


@transaction.atomic
@keeps("met", lambda need, **_given: of_need(need))
def meet(*, need: Need, by: Any, at: datetime) -> Need:
    """The wood was handed over, or is no longer wanted."""
    need.met_at = need.met_at or at
    need.save(update_fields=["met_at"])
    return need


@transaction.atomic
@keeps("reopened", lambda need, **_given: of_need(need))
def reopen(*, need: Need, by: Any) -> Need:
    """It was said to be met by mistake."""
    need.met_at = None
    need.save(update_fields=["met_at"])
    return need


def _of_reserving(line: NeedLine, stack: Stack) -> Watched:
    return Watched([line.need, stack], of_need(line.need).rows)
