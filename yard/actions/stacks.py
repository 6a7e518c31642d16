"""Stacks: made, corrected, moved, split, joined, used. What was done stays in the history.

Details kept with each event: stacked (boards, volume_m3); moved (was, to: names of places, maybe kiln_dried_on);
corrected (changes: field -> [old, new], tally: [old lines, new lines]); split (into or out_of, boards, volume_m3);
joined (into or out_of, boards, volume_m3); used (for_what, left_as); set_aside (for_what); released (for_what);
retagged (old, new).
"""

from collections import Counter
from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from yard import outlook
from yard.actions import forecasts, money, reserved
from yard.actions.stays import place_in, stays_of
from yard.actions.tags import take_blank
from yard.actions.tallies import Lines, quantity, summed, taken_off
from yard.changes import Watched, keeps, rows_of_stacks
from yard.measures.told import thick
from yard.models import Event, Place, Reading, Species, Stack, Stay, Tag, TallyLine, log
from yard.models.toldfield import kept

LEFT = ["used_at", "used_for", "left_as", "sold_for"]
STANDS = ("place_id", "used_at", "joined_into_id", "set_aside_for", "kiln_dried_on")
"""Of a stack, what must still be so where its boards, or the whole of it, are to come back."""


@transaction.atomic
@keeps("stacked", lambda **_given: Watched(), lambda stack: ([stack], [stack, *stack.lines.all()]))
def make_stack(*, tag: Tag | None, stack: Stack, lines: Lines, by: Any, at: datetime) -> Stack:
    """Save a new stack under a blank tag (a fresh one for None). Raises ValidationError when the tag isn't blank.

    Its first stay begins when it was sawn, so that wood tagged late has its past.
    """
    tag = take_blank(code=tag.code if tag else None, by=by)
    stack.code, stack.made_by = tag.code, by
    stack.save()
    _write_tally(stack, lines)
    tag.stack = stack
    tag.save(update_fields=["stack"])
    sawn_at = datetime.combine(stack.cut_on, time(12), tzinfo=UTC)
    Stay.objects.create(stack=stack, place=stack.place, since=min(sawn_at, at))
    log([stack], Event.Kind.STACKED, at=at, by=by, **quantity(lines, stack.thickness_mm))
    forecasts.due([stack])
    return stack


@transaction.atomic
@keeps("corrected", lambda stack, **_given: rows_of_stacks([stack], "lines"))
def correct(*, stack: Stack, changes: dict[str, Any], lines: Lines | None = None, by: Any, at: datetime) -> Stack:
    """Put wrong particulars right: `changes` by field, `lines` as the whole new tally (None leaves it)."""
    details: dict[str, Any] = {}
    wrong = {name: new for name, new in changes.items() if getattr(stack, name) != new}
    if wrong:
        details["changes"] = {name: [_plain(getattr(stack, name)), _plain(new)] for name, new in wrong.items()}
        for name, new in wrong.items():
            setattr(stack, name, new)
        stack.save(update_fields=list(wrong))
    old = tally(stack)
    if lines is not None and Counter(summed(lines)) != Counter(summed(old)):
        details["tally"] = [old, list(lines)]
        stack.lines.all().delete()
        _write_tally(stack, lines)
    if details:
        log([stack], Event.Kind.CORRECTED, at=at, by=by, **details)
        forecasts.due([stack])
    return stack


@transaction.atomic
@keeps("moved", lambda stacks, **_given: rows_of_stacks(stacks, "stays"))
def move(*, stacks: Iterable[Stack], place: Place, by: Any, at: datetime) -> None:
    """Stand stacks in another place from `at` on, until their next stay; those that stood there are left alone.

    A move that is told of after a later one goes into the past: where the stack stands now, it stays.
    """
    stacks = list(stacks)
    stays = stays_of(stacks)
    moved = [stack for stack in stacks if place_in(stack, stays[stack.pk], at).pk != place.pk]
    for stack in moved:
        was = place_in(stack, stays[stack.pk], at)
        log([stack], Event.Kind.MOVED, at=at, by=by, was=was.name, to=place.name)
        if not any(stay.since > at for stay in stays[stack.pk][1:]):
            stack.place = place
            stack.save(update_fields=["place"])
    # nothing stood anywhere before its first stay
    Stay.objects.bulk_create(
        Stay(stack=stack, place=place, since=max([at, *(stay.since for stay in stays[stack.pk][:1])]))
        for stack in moved
    )
    forecasts.due(moved)


@transaction.atomic
@keeps("kiln_dried", lambda stacks, **_given: rows_of_stacks(stacks))
def mark_kiln_dried(*, stacks: Iterable[Stack], on: date, by: Any, at: datetime) -> None:
    """Say that stacks came out of the kiln dry; they are stock now, and no longer forecast."""
    stacks = list(stacks)
    for stack in stacks:
        stack.kiln_dried_on = on
        stack.save(update_fields=["kiln_dried_on"])
    log(stacks, Event.Kind.CORRECTED, at=at, by=by, kiln_dried_on=on.isoformat())
    forecasts.due(stacks)
    outlook.forget_learned(unread={stack.species_id for stack in stacks})


@transaction.atomic
@keeps(
    "split",
    lambda stack, **_given: rows_of_stacks([stack], "lines", "reservations"),
    lambda part: ([part], [part, *part.lines.all(), *part.reservations.all()]),
)
def split(*, stack: Stack, lines: Lines, by: Any, at: datetime) -> Stack:
    """Take boards off a stack into a new one with a fresh tag.

    The new stack has the old one's place, stays and valid readings, so that its forecast goes on. Raises
    ValidationError when a line is not in the tally, or when nothing would be taken or left.
    """
    _lock([stack])
    left = taken_off(tally(stack), lines)
    part = _copy(stack, by)
    _write_tally(part, lines)
    stack.lines.all().delete()
    _write_tally(stack, left)
    reserved.follow_split(stack, part)
    told = quantity(lines, stack.thickness_mm)
    log([stack], Event.Kind.SPLIT, at=at, by=by, into=part.code, **told)
    log([part], Event.Kind.SPLIT, at=at, by=by, out_of=stack.code, **told)
    forecasts.due([stack, part])
    return part


@transaction.atomic
@keeps(
    "joined",
    lambda stack, into, **_given: rows_of_stacks([stack, into], "lines", "boards", "reservations", held=STANDS),
)
def join(*, stack: Stack, into: Stack, by: Any, at: datetime) -> Stack:
    """Lay a stack's boards on another, which goes on under its own tag. Raises ValidationError that says why not."""
    _lock([stack, into])
    reason = why_not_join(stack, into)
    if reason:
        raise ValidationError(reason)
    lines = tally(stack)
    both = summed([*tally(into), *lines])
    money.share_costs(stack, into)
    into.lines.all().delete()
    _write_tally(into, both)
    stack.boards.update(stack=into)
    reserved.follow_join(stack, into)
    stack.joined_into = into
    stack.save(update_fields=["joined_into"])
    told = quantity(lines, stack.thickness_mm)
    log([stack], Event.Kind.JOINED, at=at, by=by, into=into.code, **told)
    log([into], Event.Kind.JOINED, at=at, by=by, out_of=stack.code, **told)
    forecasts.due([into])
    return into


def why_not_join(stack: Stack, into: Stack) -> str:
    """Why these two can't become one stack, as a sentence; empty when they can."""
    if stack.pk == into.pk:
        return _("That is the tag of this same stack.")
    if not into.is_standing or not stack.is_standing:
        return _("One of the two is no longer in the yard.")
    if stack.species_id != into.species_id:
        names = {"one": stack.species, "other": into.species}
        return _("A stack is of one species: this is %(one)s, the other %(other)s.") % names
    if stack.thickness_mm != into.thickness_mm:
        sizes = {"one": thick(stack.thickness_mm), "other": thick(into.thickness_mm)}
        return _("A stack is of one thickness: this is %(one)s, the other %(other)s.") % sizes
    if (stack.kiln_dried_on is None) != (into.kiln_dried_on is None):
        return _("One of the two is kiln-dried and the other is not; together they would spoil the dry one.")
    for each in (stack, into):
        if each.set_aside_for:
            return _("%(code)s is set aside for %(what)s.") % {"code": each.code, "what": each.set_aside_for}
    return ""


@transaction.atomic
@keeps("used", lambda stack, **_given: rows_of_stacks([stack], held=STANDS))
def use(
    *, stack: Stack, for_what: str, left_as: str = "", sold_for: float | None = None, by: Any, at: datetime
) -> None:
    """The stack is used up, sold or gone (`left_as`: LeftAs, empty where it isn't said); its history stays.

    Raises ValidationError when it was gone already.
    """
    _lock([stack])
    if not stack.is_standing:
        raise ValidationError(_("This stack is no longer in the yard."))
    stack.used_at, stack.used_for, stack.left_as, stack.sold_for = at, for_what, left_as, sold_for
    stack.save(update_fields=LEFT)
    told = {"left_as": left_as} if left_as else {}
    log([stack], Event.Kind.USED, at=at, by=by, for_what=for_what, **told)
    outlook.forget_learned(unread={stack.species_id})


@transaction.atomic
@keeps("put_back", lambda stack, **_given: rows_of_stacks([stack], held=STANDS))
def put_back(*, stack: Stack, by: Any, at: datetime) -> None:
    """The stack was marked used by mistake."""
    changes = {"used_for": [stack.used_for, ""]}
    stack.used_at, stack.used_for, stack.left_as, stack.sold_for = None, "", "", None
    stack.save(update_fields=LEFT)
    log([stack], Event.Kind.CORRECTED, at=at, by=by, changes=changes)
    forecasts.due([stack])


@transaction.atomic
@keeps("set_aside", lambda stacks, **_given: rows_of_stacks(stacks))
def set_aside(*, stacks: Iterable[Stack], for_what: str, by: Any, at: datetime) -> None:
    """Keep stacks for something (a charge, a person), in words; plans leave them alone."""
    stacks = list(stacks)
    _set_aside(stacks, for_what)
    log(stacks, Event.Kind.SET_ASIDE, at=at, by=by, for_what=for_what)


@transaction.atomic
@keeps("released", lambda stacks, **_given: rows_of_stacks(stacks))
def release(*, stacks: Iterable[Stack], by: Any, at: datetime) -> None:
    """Stacks are free again."""
    stacks = list(stacks)
    for stack in stacks:
        log([stack], Event.Kind.RELEASED, at=at, by=by, for_what=kept(stack, "set_aside_for"))
    _set_aside(stacks, "")


def tally(stack: Stack) -> list[tuple[int, int, int]]:
    """The stack's lines as they are now, read afresh."""
    return list(stack.lines.all().values_list("length_mm", "width_mm", "count"))


def _lock(stacks: Iterable[Stack]) -> None:
    """Read stacks afresh and keep others from changing them until the transaction ends."""
    fresh = Stack.objects.select_for_update().in_bulk([stack.pk for stack in stacks])
    for stack in stacks:
        stack.used_at, stack.joined_into_id = fresh[stack.pk].used_at, fresh[stack.pk].joined_into_id


def _plain(value: Any) -> str:
    """A particular as the history keeps it: the same for readers of all languages."""
    return value.kept_name if isinstance(value, Species) else str(value)


def _set_aside(stacks: Iterable[Stack], for_what: str) -> None:
    for stack in stacks:
        stack.set_aside_for = for_what
        stack.save(update_fields=["set_aside_for"])


def _copy(stack: Stack, by: Any) -> Stack:
    """A stack of the same wood with a fresh tag and the same past, without boards."""
    tag = take_blank(code=None, by=by)
    names = [f.attname for f in Stack._meta.concrete_fields if f.name not in ("id", "code", "made_at", "made_by")]
    part = Stack(**{name: getattr(stack, name) for name in names})
    part.code, part.made_by, part.split_from, part.set_aside_for = tag.code, by, stack, ""
    part.save()
    tag.stack = part
    tag.save(update_fields=["stack"])
    Stay.objects.bulk_create(Stay(stack=part, place_id=stay.place_id, since=stay.since) for stay in stack.stays.all())
    readings = list(stack.readings.filter(voided_at=None, board=None))
    for reading in readings:
        reading.pk, reading.stack = None, part
    Reading.objects.bulk_create(readings)
    return part


def _write_tally(stack: Stack, lines: Lines) -> None:
    new = [TallyLine(stack=stack, length_mm=a, width_mm=b, count=count) for a, b, count in summed(lines) if count]
    TallyLine.objects.bulk_create(new)
    # lines that were prefetched would go on being shown
    getattr(stack, "_prefetched_objects_cache", {}).pop("lines", None)
