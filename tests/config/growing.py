"""A yard with more of everything: rows of each table again, so that no new table can be forgotten."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from graphlib import TopologicalSorter
from itertools import count
from typing import Any
from uuid import uuid4

from django.apps import apps
from django.db import IntegrityError, models, transaction

from yard.models.tagcode import new_code

APPS = ("auth", "yard", "kilnruns")
ALONE = {"auth.Permission", "auth.Group", "yard.Species"}
"""What is the same for all: rights, and the book."""
MOST = 20  # rows of a table


class Again:
    """Rows of a yard a second time: each with what it hangs on new as well, and, for each row that it hangs on, with
    that kept and the rest new, so that every page has more of all that it shows."""

    def __init__(self) -> None:
        self.new: dict[type[models.Model], dict[Any, models.Model]] = defaultdict(dict)
        self.codes: dict[str, str] = {}
        self.made: dict[str, int] = {}
        self.counter = count(1)

    def grow(self) -> None:
        tables = list(_in_order())
        rows = {table: list(table._base_manager.order_by("pk")[:MOST]) for table in tables}
        for table in tables:
            for row in rows[table]:
                if copy := self._copied(row, keep=None):
                    self.new[table][row.pk] = copy
            if rows[table]:
                self.made[table._meta.label] = len(self.new[table])
        for table in tables:
            for row in rows[table]:
                for key in _keys(table):
                    if getattr(row, key.attname) in self.new[key.related_model] and not key.unique:
                        self._with_what_is_one(row, self._copied(row, keep=key.name))
            self._many(table)

    def _with_what_is_one(self, row: models.Model, copy: models.Model | None) -> None:
        """The forecast of a stack, what a run cost: rows that a row has one of."""
        for related in type(row)._meta.related_objects if copy else ():
            one = getattr(row, related.get_accessor_name() or "", None) if related.one_to_one else None
            if one is not None and related.related_model in self.new:
                self._copied(one, keep=related.field.name, instead=copy)

    def _copied(self, row: models.Model, keep: str | None, instead: models.Model | None = None) -> models.Model | None:
        """None where the database allows no second one. What is kept may be another row `instead`."""
        copy = type(row)()
        counted = {name for one in row._meta.total_unique_constraints for name in one.fields}
        for field in row._meta.concrete_fields:
            value = getattr(row, field.attname)
            if field.name == keep and instead is not None:
                value = instead.pk
            elif field.is_relation and field.name != keep:
                value = getattr(self.new[field.related_model].get(value), "pk", value)
            elif isinstance(field, models.AutoField):
                continue
            elif field.name in counted and isinstance(field, models.IntegerField) and value is not None:
                value += 1000 * next(self.counter)
            elif not field.is_relation:
                value = self._other(field, value, anew=keep is not None)
            setattr(copy, field.attname, value)
        try:
            with transaction.atomic():
                models.Model.save_base(copy, raw=True, force_insert=True)
        except IntegrityError:
            return None
        return copy

    def _other(self, field: Any, value: Any, anew: bool) -> Any:
        """A tag's code is another one, the same wherever it stands; what must be unique gets a new value."""
        if isinstance(field, models.UUIDField) and field.unique:
            return uuid4()
        if field.name == "code" and value and field.model._meta.app_label == "yard":
            return new_code() if anew else self.codes.setdefault(value, new_code())
        if field.unique and isinstance(value, str) and value:
            return f"{value[: (field.max_length or 200) - 9]}-{uuid4().hex[:8]}"
        return value

    def _many(self, table: type[models.Model]) -> None:
        for field in table._meta.many_to_many:
            for pk, copy in self.new[table].items():
                getattr(copy, field.name).set(getattr(table._base_manager.get(pk=pk), field.name).all())


def _in_order() -> Iterable[type[models.Model]]:
    """Each table after those that its rows hang on."""
    tables = [one for label in APPS for one in apps.get_app_config(label).get_models() if one._meta.label not in ALONE]
    graph = {one: {key.related_model for key in _keys(one) if key.related_model is not one} for one in tables}
    return (one for one in TopologicalSorter(graph).static_order() if one in tables)


def _keys(table: type[models.Model]) -> Iterator[Any]:
    return (field for field in table._meta.concrete_fields if field.is_relation and field.related_model)
