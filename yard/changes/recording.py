"""Keeping what an act writes: rows are read before and after it, and what differs is kept as one Change."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from django.db import transaction
from django.db.models import Model, QuerySet
from django.utils import timezone

from yard.changes.images import Image, Images, again, difference, images
from yard.models import Change, ChangeAbout, Stack

P = ParamSpec("P")
R = TypeVar("R")
Pair = tuple[Image | None, Image | None]
MILL = ("mill", 1)
"""Whose history the settings of the whole yard stand in."""
PEOPLE = ("people", 1)
"""Whose history owners alone see: who may do what, and sign-ins."""


@dataclass(frozen=True, slots=True)
class Watched:
    """`about`: objects whose history it stands in, or MILL; `rows`: what it may write; `held`: columns of those rows
    that an undo must find as they are now, by label; `named`: rows that it is told of even where nothing of theirs may
    be kept, as a password."""

    about: Iterable[Any] = ()
    rows: Iterable[QuerySet[Any]] = ()
    held: dict[str, tuple[str, ...]] = field(default_factory=dict)
    named: Iterable[Model] = ()


@dataclass(slots=True)
class Act:
    """One act in hand, with all that the actions inside it wrote."""

    kind: str
    by: Any
    at: datetime
    about: set[tuple[str, int]] = field(default_factory=set)
    rows: dict[tuple[str, Any], Pair] = field(default_factory=dict)
    held: dict[tuple[str, Any], Image] = field(default_factory=dict)
    made: list[Model] = field(default_factory=list)
    undoes: Change | None = None

    def tell_of(self, *about: Any) -> None:
        """It stands in the history of these too."""
        self.about |= {_key(one) for one in about}

    def has_made(self, *rows: Model) -> None:
        """New rows that were not among those watched."""
        self.made += rows


_now: ContextVar[Act | None] = ContextVar("change_in_hand", default=None)
_off: ContextVar[bool] = ContextVar("changes_unkept", default=False)
_written: ContextVar[list[Change] | None] = ContextVar("changes_written", default=None)


@contextmanager
def kept(kind: str, watched: Watched, *, by: Any, at: datetime | None = None) -> Iterator[Act]:
    """Keep what is written inside, in its transaction. Inside another act it is part of that one."""
    outer = _now.get()
    act = Act(kind, by, at or timezone.now())
    if _off.get():
        yield act
        return
    with transaction.atomic():
        asked = list(watched.rows)
        before = images(asked, lock=True)
        token = _now.set(act)
        try:
            yield act
        finally:
            _now.reset(token)
        after = again(before, images([*asked, *_of_made(act.made)]))
        _take_in(act, before, after, watched)
        act.tell_of(*watched.about)
        if outer is None:
            _write(act)
        else:
            _join(outer, act)


@contextmanager
def unkept() -> Iterator[None]:
    """Keep nothing of what is written inside: whole sheets taken in, which the stacks' own events tell of."""
    token = _off.set(True)
    try:
        yield
    finally:
        _off.reset(token)


def keeps(
    kind: str, watch: Callable[..., Watched], made: Callable[[Any], Any] | None = None
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """An action that `kept` goes round: `watch` takes its arguments, `made` its answer and gives what is new with it:
    (whose history it stands in too, new rows)."""

    def around(action: Callable[P, R]) -> Callable[P, R]:
        @wraps(action)
        def acting(*args: P.args, **given: P.kwargs) -> R:
            if "stacks" in given:
                given["stacks"] = list(given["stacks"])  # type: ignore[call-overload]
            with kept(kind, watch(**given), by=given["by"], at=given.get("at")) as act:  # type: ignore[arg-type]
                answer = action(*args, **given)
                if made is not None:
                    about, rows = made(answer)
                    act.tell_of(*about)
                    act.has_made(*rows)
            return answer

        return acting

    return around


def rows_of_stacks(stacks: Iterable[Stack], *names: str, held: tuple[str, ...] = ()) -> Watched:
    """Stacks, and what hangs on them by these related names. `held`: columns of the stacks that an undo needs as is."""
    keys = [stack.pk for stack in stacks]
    rows: list[QuerySet[Any]] = [Stack.objects.filter(pk__in=keys)]
    for name in names:
        relation: Any = Stack._meta.get_field(name)
        rows.append(relation.related_model._base_manager.filter(**{f"{relation.field.name}__in": keys}))
    return Watched([("stack", key) for key in keys], rows, {"yard.stack": held} if held else {})


@contextmanager
def begun() -> Iterator[None]:
    """Note what is written from here on."""
    token = _written.set([])
    try:
        yield
    finally:
        _written.reset(token)


def written() -> list[Change]:
    """What was written since `begun`, in its order."""
    return list(_written.get() or ())


def _of_made(rows: Iterable[Model]) -> Iterator[QuerySet[Any]]:
    by_model: dict[type[Model], list[Any]] = {}
    for row in rows:
        by_model.setdefault(type(row), []).append(row.pk)
    for model, keys in by_model.items():
        yield model._base_manager.filter(pk__in=keys)


def _take_in(act: Act, before: Images, after: Images, watched: Watched) -> None:
    """What was read round the whole act says more than what its parts told."""
    differs = difference(before, after)
    for key in {**before, **after}:
        act.rows.pop(key, None)
        if key in differs:
            act.rows[key] = differs[key]
        if key in after and key in before and key[0] in watched.held:
            act.held[key] = {name: after[key][name] for name in watched.held[key[0]]}
    for row in watched.named:
        act.rows.setdefault((row._meta.label_lower, row.pk), ({}, {}))


def _join(outer: Act, act: Act) -> None:
    outer.about |= act.about
    outer.held |= act.held
    for key, (was, now) in act.rows.items():
        if key in outer.rows:
            first, last = outer.rows[key]
            was = first if first is None or was is None else {**was, **first}
            now = now if last is None or now is None else {**last, **now}
        if was is not None or now is not None:
            outer.rows[key] = was, now
        else:
            outer.rows.pop(key, None)


def _write(act: Act) -> None:
    keys = [*act.rows, *(key for key in act.held if key not in act.rows)]
    if not act.rows and act.undoes is None:
        return
    change = Change.objects.create(
        kind=act.kind, at=act.at, by=act.by, undoes=act.undoes, rows=[_row(act, key) for key in keys]
    )
    ChangeAbout.objects.bulk_create(ChangeAbout(change=change, what=what, key=key) for what, key in sorted(act.about))
    told = _written.get()
    if told is not None:
        told.append(change)


def _row(act: Act, key: tuple[str, Any]) -> dict[str, Any]:
    was, now = act.rows.get(key, ({}, {}))
    held = {"held": act.held[key]} if key in act.held else {}
    return {"of": key[0], "pk": key[1], "was": was, "now": now, **held}


def _key(one: Any) -> tuple[str, int]:
    return one if isinstance(one, tuple) else (str(one._meta.model_name), one.pk)
