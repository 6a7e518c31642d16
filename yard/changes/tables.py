"""How the rows of a table are told in a history: what they are called, which columns stay out, in what words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps

from yard.changes.images import KEYS_ONLY, model_of

Shown = Callable[[Any], str]
LEFT_OUT = {"made_at", "made_by_id", "at", "by_id"}
"""When and by whom is told of the whole change."""
MONEY_COLUMNS = {
    "value_per_m3", "log_per_m3", "sawing_per_m3", "stacking_per_m3", "dry_per_m3", "green_per_m3", "cost_per_day",
    "price_per_kwh", "hourly_rate", "cost", "value", "sold_for",
}  # fmt: skip
"""Told to those alone who see money."""


@dataclass(frozen=True, slots=True)
class Table:
    """`name`: what a row is called; `left_out`: columns not told; `words`: a column's own words where the field has
    none, maybe with ", unit"; `shown`: how a column's value is told; `named`: what a row itself is called, in words.
    `keys_only`: of new rows the key is kept and no more. `remade`: the yard makes its rows anew by itself, so that
    nothing rests on them."""

    name: Any = ""
    left_out: frozenset[str] = frozenset()
    words: Mapping[str, Any] = field(default_factory=dict)
    shown: Mapping[str, Shown] = field(default_factory=dict)
    named: Callable[[Any], str] | None = None
    keys_only: bool = False
    remade: bool = False


@dataclass(frozen=True, slots=True)
class Subject:
    """A thing with a history: its model, its heading, and where its page is; `gone`: the page when it is no more."""

    model: Any
    heading: Callable[[Any], str]
    page: Callable[[Any], str]
    gone: str


_tables: dict[str, Table] = {}
_hidden: set[str] = set()
_subjects: dict[str, Subject] = {}


def register_tables(tables: Mapping[str, Table], hidden: set[str] = frozenset()) -> None:  # type: ignore[assignment]
    """What each app knows; `hidden` tables are told by the history of what they hang on."""
    _tables.update(tables)
    KEYS_ONLY.update(label for label, table in tables.items() if table.keys_only)
    _hidden.update(hidden)


def register_subjects(subjects: Mapping[str, Subject]) -> None:
    _subjects.update(subjects)


def table_of(label: str) -> Table:
    return _tables.get(label) or Table(model_of(label)._meta.verbose_name)


def is_told(label: str) -> bool:
    """Not what another history tells, nor rows of a table that this version no longer has."""
    app, _dot, name = label.partition(".")
    return label not in _hidden and name in apps.all_models[app]


def subject_of(what: str) -> Subject | None:
    return _subjects.get(what)
