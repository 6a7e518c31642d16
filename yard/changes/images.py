"""Rows as they are, in plain values that JSON holds exactly, and what differs between two moments."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any

from django.apps import apps
from django.db.models import Model, QuerySet

Image = dict[str, Any]
Images = dict[tuple[str, Any], Image]
"""By the table's label and the row's key."""
KEYS_ONLY: set[str] = set()
"""Tables of whose new rows the key alone is kept, as told by `tables`: there are very many, and they stay."""
SECRET: dict[str, frozenset[str]] = {}
"""By table, columns that are kept nowhere else: what is hashed, and what the yard counts by itself."""


def model_of(label: str) -> type[Model]:
    return apps.get_model(label)


def columns(model: type[Model]) -> list[str]:
    """All but the key, what the database writes anew at each save, what is derived from other rows, and secrets."""
    kept_back = SECRET.get(model._meta.label_lower, frozenset()) | getattr(model, "DERIVED", frozenset())
    told = [one for one in model._meta.concrete_fields if not one.primary_key and not getattr(one, "auto_now", False)]
    return [one.attname for one in told if not {one.name, one.attname} & kept_back]


def images(rows: Iterable[QuerySet[Any]], *, lock: bool = False) -> Images:
    """Each row of these, a query each; with `lock` nobody else writes them until the transaction ends."""
    found: Images = {}
    for asked in rows:
        label = asked.model._meta.label_lower
        ordered = asked.order_by("pk").select_for_update() if lock else asked.order_by("pk")
        for values in ordered.values("pk", *columns(asked.model)):
            key = values.pop("pk")
            found[label, key] = {name: plain(value) for name, value in values.items()}
    return found


def plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return value if value is None or isinstance(value, bool | int | float | str | list | dict) else str(value)


def again(before: Images, after: Images) -> Images:
    """`after` with those rows that left the watched sets but are still there: a query a table with any."""
    missing: dict[str, list[Any]] = {}
    for label, key in before.keys() - after.keys():
        missing.setdefault(label, []).append(key)
    return after | images(model_of(label)._base_manager.filter(pk__in=keys) for label, keys in missing.items())


def difference(before: Images, after: Images) -> dict[tuple[str, Any], tuple[Image | None, Image | None]]:
    """Rows that differ: whole where one is missing, else the columns that changed alone."""
    found: dict[tuple[str, Any], tuple[Image | None, Image | None]] = {}
    for key in {**before, **after}:
        was, now = before.get(key), after.get(key)
        if was is None or now is None:
            found[key] = was, {} if was is None and key[0] in KEYS_ONLY else now
            continue
        names = [name for name in was if was[name] != now[name]]
        if names:
            found[key] = {name: was[name] for name in names}, {name: now[name] for name in names}
    return found


def values(model: type[Model], image: Mapping[str, Any]) -> Image:
    """An image's values as Python's, in the order of its model's columns: PostgreSQL keeps none of an object's."""
    found = {}
    for field in model._meta.concrete_fields:
        if field.attname in image:
            value = image[field.attname]
            found[field.attname] = value if value is None or isinstance(value, list | dict) else _python(field, value)
    return found


def _python(field: Any, value: Any) -> Any:
    return field.target_field.to_python(value) if field.is_relation else field.to_python(value)
