"""What would stand against taking a change back, and putting its rows back as they were."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, QuerySet

from yard.changes.images import images, model_of, values
from yard.changes.tables import table_of
from yard.models import Change


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A row that is no longer as the change left it: `column` where one differs, `by` the rows that rest on it."""

    of: str
    pk: Any
    column: str = ""
    by: type[Model] | None = None


def obstacles(change: Change) -> Iterator[Obstacle]:
    """What was built on it since, row by row; a query a table, and one for each thing that could rest on a new row."""
    found = images(_rows(change), lock=True)
    for row in change.rows:
        label, key, now = row["of"], row["pk"], found.get((row["of"], row["pk"]))
        if row["now"] is None:
            if now is not None:
                yield Obstacle(label, key)
        elif now is None:
            yield Obstacle(label, key)
        else:
            wanted = row["now"] | row.get("held", {})
            differs = next((name for name, value in wanted.items() if name in now and now[name] != value), None)
            if differs:
                yield Obstacle(label, key, differs)
            elif row["was"] is None:
                yield from _resting(change, label, key)


def put_back(change: Change) -> list[QuerySet[Any]]:
    """Write each row as it was before the change. IntegrityError where what has come since leaves no room for it."""
    for row in reversed(change.rows):
        model = model_of(row["of"])
        there = model._base_manager.filter(pk=row["pk"])
        if row["was"] is None:
            there.delete()
        elif row["now"] is None:
            was = values(model, row["was"])
            model._base_manager.bulk_create([model(pk=row["pk"], **was)])
            there.update(**was)  # moments that a field sets by itself
        elif row["was"]:
            there.update(**values(model, row["was"]))
    return _rows(change)


def rows_of(change: Change) -> list[QuerySet[Any]]:
    """The rows that it wrote, as they are now."""
    return _rows(change)


def _rows(change: Change) -> list[QuerySet[Any]]:
    labels = sorted({row["of"] for row in change.rows})
    return [model_of(label)._base_manager.filter(pk__in=change.keys_of(label)) for label in labels]


def _resting(change: Change, label: str, key: Any) -> Iterator[Obstacle]:
    """Rows of others that point to a new one."""
    for relation in model_of(label)._meta.get_fields(include_hidden=True):
        points_here: Any = relation
        if relation.concrete or not (relation.one_to_many or relation.one_to_one):
            continue
        other = points_here.related_model
        if table_of(other._meta.label_lower).remade:
            continue
        mine = change.keys_of(other._meta.label_lower)
        if other._base_manager.filter(**{points_here.field.name: key}).exclude(pk__in=mine).exists():
            yield Obstacle(label, key, by=other)
