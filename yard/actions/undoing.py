"""Taking back what a person did last: rows are put back as they were, or the opposite is done; both stay on record."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from yard import outlook
from yard.actions import forecasts
from yard.actions.roles import OWNER, is_at_least, role_of
from yard.changes import Kind, kept, kind_of
from yard.changes.images import model_of, values
from yard.changes.kinds import UNDONE
from yard.changes.putting_back import Obstacle, obstacles, put_back, rows_of
from yard.changes.recording import Watched
from yard.models import Change, Event, Place, Role, Species, Stack, log

UNTOLD = {"code", "used_at", "joined_into", "split_from", "made_at", "made_by"}
"""Columns of a stack that its history tells by other words."""
OF_STACKS = ("yard.tallyline", "yard.stay", "yard.reading", "yard.sampleboard", "yard.board")


def why_not(change: Change, person: Any, at: datetime) -> str:
    """Why this person can't take it back, before looking at what was built on it; empty when they can."""
    is_undo = change.kind == UNDONE and change.undoes is not None
    kind = kind_of(change.undoes.kind if is_undo and change.undoes else change.kind)
    if change.by_id is None or change.by_id != person.pk:
        return _("Only who did it can undo it with one tap. Change it by hand.")
    if change.is_undone:
        return _("It is undone already.")
    if not kind.undone:
        return _("This can't be undone with one tap. Change it by hand.")
    if not is_at_least(role_of(person), least_to_undo(kind)):
        return _("You may not change this any more. Ask an owner of the yard.")
    if at - change.made_at > Change.UNDO_WITHIN:
        return _("It was done more than 24 hours ago. Change it by hand.")
    return ""


def least_to_undo(kind: Kind) -> str:
    """The role from which on one may take back what one did: the one that may do it."""
    return OWNER if kind.owners else Role.OPERATOR.value if kind.operators else Role.HAND.value


@transaction.atomic
def undo(*, change: Change, by: Any, at: datetime) -> Change:
    """Take it back; of what took something back, do that again. Raises ValidationError that says what stands against it
    and why."""
    change = Change.objects.select_for_update(of=("self",)).select_related("undoes").get(pk=change.pk)
    reason = why_not(change, by, at)
    if reason:
        raise ValidationError(reason)
    again = change.undoes.kind if change.kind == UNDONE and change.undoes else ""
    kind = kind_of(again or change.kind)
    about = [(one.what, one.key) for one in change.about.all()]
    taken_back = kind_of(kind.opposite) if again and kind.opposite else kind
    with kept(again or UNDONE, Watched(about, rows_of(change)), by=by, at=at) as act:
        act.undoes = change
        if taken_back.check and (taken_back is not kind or not again):
            taken_back.check(change=change)
        if kind.inverse and not again:
            kind.inverse(change=change, by=by, at=at)
        else:
            _put_back(change)
    _tell_stacks(change, again, by, at)
    _forecast_anew(change)
    return Change.objects.get(undoes=change)


def last_undoable(what: str, key: int, person: Any, at: datetime) -> Change | None:
    """What this person did last to a thing, if it can be taken back still. One query."""
    mine = _mine(what, key, person, at).exclude(kind=UNDONE)
    last = mine.first()
    return last if last and not why_not(last, person, at) else None


def last_undone(what: str, key: int, person: Any, at: datetime) -> Change | None:
    """What this person took back last and did nothing after. One query. `why_not` says whether it can be done again."""
    last = _mine(what, key, person, at).first()
    return last if last and last.kind == UNDONE else None


def last_changes(what: str, key: int, person: Any) -> dict[str, Any]:
    """What a page of its history offers, for its template: two queries."""
    at = timezone.now()
    undone = last_undone(what, key, person, at)
    return {
        "last": last_undoable(what, key, person, at),
        "undone": undone,
        "undone_why_not": why_not(undone, person, at) if undone else "",
    }


def _mine(what: str, key: int, person: Any, at: datetime) -> Any:
    rows = Change.objects.filter(about__what=what, about__key=key, by=person.pk, undone_by=None)
    return rows.filter(made_at__gte=at - Change.UNDO_WITHIN).select_related("undone_by", "undoes")


def _put_back(change: Change) -> None:
    found = next(obstacles(change), None)
    if found is not None:
        raise ValidationError(_why(change, found))
    try:
        with transaction.atomic():
            put_back(change)
    except IntegrityError as error:
        if change.kind == UNDONE:
            words = _("It can't be done again: what has come since leaves no room for it. Do it by hand.")
        else:
            words = _("It can't be undone: what has come since leaves no room for it. Change it by hand.")
        raise ValidationError(words) from error


def _why(change: Change, found: Obstacle) -> str:
    later = _later(change, found)
    if later is not None:
        when = timezone.localtime(later.at)
        words = {
            "what": kind_of(later.kind).words,
            "who": later.by or _("someone"),
            "when": f"{date_format(when, 'j F')}, {date_format(when, 'H:i')}",
        }
        if change.kind == UNDONE:
            return _("It can't be done again. Since then: %(what)s, by %(who)s, %(when)s. Do it by hand.") % words
        return _("It can't be undone. Since then: %(what)s, by %(who)s, %(when)s. Mend it by hand.") % words
    if change.kind == UNDONE:
        return _("It can't be done again: what it is about was changed since. Do it by hand.")
    if found.by is not None:
        words = {"what": capfirst(found.by._meta.verbose_name)}
        return _("It can't be undone: something rests on it by now (%(what)s). Mend it by hand.") % words
    if found.column:
        field = next(one for one in model_of(found.of)._meta.concrete_fields if one.attname == found.column)
        words = {"what": capfirst(field.verbose_name)}
        return _("It can't be undone: this was changed again since: %(what)s. Mend it by hand.") % words
    return _("It can't be undone: what it changed was changed again since. Mend it by hand.")


def _later(change: Change, found: Obstacle) -> Change | None:
    """The first act after it that wrote the same row, or put a row on it."""
    for one in change.about.all():
        since = Change.objects.filter(about__what=one.what, about__key=one.key, pk__gt=change.pk, undone_by=None)
        for later in since.exclude(kind=UNDONE).select_related("by").order_by("pk")[:50]:
            for row in later.rows:
                same = (row["of"], row["pk"]) == (found.of, found.pk)
                written = row["was"] is None or row["now"] is None or found.column in row["now"]
                rests = found.by is not None and row["of"] == found.by._meta.label_lower
                if (same and written) or rests:
                    return later
    return None


def _tell_stacks(change: Change, again: str, by: Any, at: datetime) -> None:
    """A line in the history of each stack, with what it has again: phones see by it that the stack has changed.
    `again`: the kind of what is done once more."""
    rows = {row["pk"]: row for row in change.rows if row["of"] == "yard.stack" and row["was"] and row["now"]}
    tallied = {(row["was"] or row["now"])["stack_id"] for row in change.rows if _is_whole_line(row)}
    keys = [one.key for one in change.about.all() if one.what == "stack"]
    for stack in Stack.objects.filter(pk__in=keys).prefetch_related("lines"):
        details: dict[str, Any] = {"changes": _told(rows[stack.pk])} if stack.pk in rows else {}
        if stack.pk in tallied:
            details["tally"] = [
                _tally_left(change, stack),
                [[x.length_mm, x.width_mm, x.count] for x in stack.lines.all()],
            ]
        kind = Event.Kind.REDONE if again else Event.Kind.UNDONE
        log([stack], kind, at=at, by=by, what=again or change.kind, **details)


def _is_whole_line(row: dict[str, Any]) -> bool:
    return row["of"] == "yard.tallyline" and (row["was"] is None or row["now"] is None)


def _tally_left(change: Change, stack: Stack) -> list[list[int]]:
    """The tally as the change had left it."""
    lines = [row["now"] for row in change.rows if row["of"] == "yard.tallyline" and row["now"]]
    return [[x["length_mm"], x["width_mm"], x["count"]] for x in lines if x.get("stack_id") == stack.pk]


def _told(row: dict[str, Any]) -> dict[str, list[str]]:
    """By field: what it was until now, and what it is again."""
    told = {}
    names = {field.attname: field for field in Stack._meta.concrete_fields}
    for name, was in values(Stack, row["was"]).items():
        field: Any = names[name]
        if field.name not in UNTOLD:
            now = values(Stack, {name: row["now"][name]})[name]
            told[field.name] = [_text(field, now), _text(field, was)]
    return told


def _text(field: Any, value: Any) -> str:
    if field.is_relation and value is not None:
        return str(field.related_model._base_manager.filter(pk=value).first())
    return str(value)


def _forecast_anew(change: Change) -> None:
    stacks = set(change.keys_of("yard.stack"))
    for row in change.rows:
        image = (row["was"] or {}) | (row["now"] or {})
        if row["of"] in OF_STACKS and "stack_id" in image:
            stacks.add(image["stack_id"])
    stacks |= {one.key for one in change.about.all() if one.what == "stack"}
    rows = list(Stack.objects.filter(pk__in=stacks))
    forecasts.due(rows)
    gone = [row for row in change.rows if row["of"] == "yard.stack" and row["now"]]
    taught = {row["pk"] for row in gone if {"used_at", "kiln_dried_on"} & row["now"].keys()}
    if taught:
        outlook.forget_learned(unread={stack.species_id for stack in rows if stack.pk in taught})
    if any("voided_at" in (row["was"] or {}) for row in change.rows if row["of"] == "yard.reading"):
        outlook.believe(rows)
    for place in Place.objects.filter(pk__in=_keys(change, "place", "yard.place")):
        outlook.forget(place=place)
    for species in Species.objects.filter(pk__in=_keys(change, "species", "yard.species")):
        outlook.forget(species=species)


def _keys(change: Change, what: str, label: str) -> set[Any]:
    return {one.key for one in change.about.all() if one.what == what} | set(change.keys_of(label))
