"""Changes in words: each column that changed with what it was and became, and its unit."""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.dates import MONTHS
from django.utils.formats import date_format, number_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from yard.changes.images import Image, model_of, values
from yard.changes.kinds import UNDONE, kind_of
from yard.changes.tables import LEFT_OUT, MONEY_COLUMNS, Table, is_told, table_of
from yard.measures import typed
from yard.measures.quantities import PRICE, of_unit
from yard.measures.system import IMPERIAL, imperial
from yard.measures.told import unit_of
from yard.models import Change, Stack, woodname
from yard.models.toldfield import ToldField

UNITS = {"mm", "m", "m³", "g", "kg", "%", "°C", "kW", "kWh", "kg/m³", "W/m²K", "% a day"}
NOTHING, A_M3 = "–", "a m³"
LONGEST = 8
Things = dict[tuple[type, Any], str]


@dataclass(frozen=True, slots=True)
class Line:
    """`name: was → now unit`; of a new or dropped row `name` says which of it, and one of the two is empty."""

    name: str
    was: str = ""
    now: str = ""
    unit: str = ""


@dataclass(slots=True)
class Told:
    """A change as a history shows it; `kind` in words, `undone` the change that took it back."""

    change: Change
    kind: str
    lines: list[Line] = field(default_factory=list)
    undone: Change | None = None


def told(changes: Sequence[Change], *, money: bool = True) -> list[Told]:
    """In words, in the same order; prices and costs only with `money`. A query for each table that columns point to,
    however many changes."""
    things = _things(changes)
    hidden = frozenset() if money else MONEY_COLUMNS
    return [
        Told(one, _kind(one), list(_lines(one, things, hidden)), getattr(one, "undone_by", None)) for one in changes
    ]


def corrected(changes: Mapping[str, Sequence[str]]) -> list[tuple[str, Line]]:
    """By column, what an event of a stack tells of a correction: it keeps texts."""
    table, lines = table_of("yard.stack"), []
    for name, pair in changes.items():
        label, unit = _label(Stack, table, name)
        was, now = (_of_text(name, table, text, unit) for text in pair)
        lines.append((name, Line(label, was, now, told_unit(unit))))
    return lines


def _of_text(name: str, table: Table, text: str, unit: str) -> str:
    field = _field(Stack, name)
    if text in ("", str(None)) or field.is_relation:
        return woodname.told(text) if text and text != str(None) else NOTHING
    return _shown(Stack, table, name, field.to_python(text), {}, unit)


def _kind(change: Change) -> str:
    if change.undoes is None:
        return str(capfirst(kind_of(change.kind).words))
    if change.kind != UNDONE:
        return _("Done again: %(what)s") % {"what": kind_of(change.kind).words}
    return _("Undone: %(what)s") % {"what": kind_of(change.undoes.kind).words}


def _lines(change: Change, things: Things, hidden: Set[str]) -> Iterable[Line]:
    for row in change.rows:
        if not is_told(row["of"]):
            continue
        table, model = table_of(row["of"]), model_of(row["of"])
        whose = things.get((model, row["pk"]), "") if table.named else ""
        if not row["was"] and not row["now"]:
            if whose:
                yield Line(whose)
        elif row["was"] is not None and row["now"] is not None:
            for name in (one for one in values(model, row["was"]) if one not in hidden):
                yield from _changed(model, table, name, row, whose, things)
        else:
            image = {name: value for name, value in (row["was"] or row["now"]).items() if name not in hidden}
            what = _whole(model, table, image, things)
            name = str(capfirst(table.name))
            yield Line(name, was=what) if row["was"] else Line(name, now=what)


def _changed(model: Any, table: Table, name: str, row: Any, whose: str, things: Things) -> Iterable[Line]:
    if name in table.left_out or name in LEFT_OUT:
        return
    label, unit = _label(model, table, name)
    label = f"{whose}: {label}" if whose else str(capfirst(label))
    was, now = (values(model, row[side])[name] for side in ("was", "now"))
    if isinstance(was, list) and isinstance(now, list) and len(was) == len(now) == len(MONTHS):
        for month, before, after in zip(MONTHS.values(), was, now, strict=True):
            if before != after:
                yield Line(f"{label}, {month}", _plain(before, unit), _plain(after, unit), told_unit(unit))
        return
    before, after = (_shown(model, table, name, value, things, unit) for value in (was, now))
    yield Line(label, before, after, told_unit(unit))


def _whole(model: Any, table: Table, image: Image, things: Things) -> str:
    """What a row holds, without what is empty."""
    parts = []
    for name, value in values(model, image).items():
        if name in table.left_out or name in LEFT_OUT or value in (None, "", [], {}) or value is False:
            continue
        label, unit = _label(model, table, name)
        parts.append(
            f"{label} {_shown(model, table, name, value, things, unit)}" + (f"\u202f{told_unit(unit)}" if unit else "")
        )
    return ", ".join(parts)


def _label(model: Any, table: Table, name: str) -> tuple[str, str]:
    """A column's words and its unit, which field names of figures end with."""
    words = str(table.words.get(name) or _field(model, name).verbose_name)
    if is_price(name):
        return words.replace("m³", unit_of("m³")), ""
    label, _comma, unit = words.rpartition(", ")
    return (label, unit) if label and unit in UNITS else (words, "")


def told_unit(unit: str) -> str:
    """The reader's in place of a metric one."""
    return unit_of(unit)


def is_price(name: str) -> bool:
    """Columns of money a m³; the yield's column is of round wood."""
    return name.endswith("_per_m3") and name != "round_m3_per_m3"


def _figure(value: float, unit: str) -> str:
    """In the reader's unit: as it would be typed, where that is short."""
    measure = PRICE if unit == A_M3 else of_unit(unit)
    if measure and imperial():
        said = typed.text(value, measure, IMPERIAL)
        return said if len(said) <= LONGEST else number_format(Decimal(f"{measure.unit().of(value):.6g}"))
    return number_format(Decimal(f"{value:.{6 if imperial() else 10}g}"))


def _shown(model: Any, table: Table, name: str, value: Any, things: Things, unit: str = "") -> str:
    if name in table.shown:
        return table.shown[name](value)
    field = _field(model, name)
    if value in (None, ""):
        return NOTHING
    if field.is_relation:
        return things.get((field.related_model, value), _("no longer there"))
    if isinstance(field, ToldField):
        return field.tell(value)
    choices = dict(field.flatchoices)
    return unit_of(str(choices[value])) if value in choices else _plain(value, A_M3 if is_price(name) else unit)


def _plain(value: Any, unit: str = "") -> str:
    if value in (None, ""):
        return NOTHING
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        return _figure(value, unit)
    if isinstance(value, datetime):
        local = timezone.localtime(value)
        return f"{date_format(local, 'j F Y')}, {date_format(local, 'H:i')}"
    if hasattr(value, "isoformat"):
        return date_format(value, "j F Y")
    return " · ".join(_plain(one, unit) for one in value) if isinstance(value, list) else str(value)


def _field(model: Any, name: str) -> Any:
    return next(one for one in model._meta.concrete_fields if name in (one.attname, one.name))


def _things(changes: Iterable[Change]) -> Things:
    """What columns point to, and rows that are called by a name of their own."""
    wanted: dict[type, set[Any]] = {}
    for row in (row for change in changes for row in change.rows if is_told(row["of"])):
        model = model_of(row["of"])
        if table_of(row["of"]).named:
            wanted.setdefault(model, set()).add(row["pk"])
        for image in (row["was"] or {}, row["now"] or {}):
            for one in model._meta.concrete_fields:
                if one.is_relation and image.get(one.attname) is not None:
                    wanted.setdefault(one.related_model, set()).add(image[one.attname])  # type: ignore[arg-type]
    found: Things = {}
    for model, keys in wanted.items():
        say = table_of(model._meta.label_lower).named or str
        found |= {(model, row.pk): say(row) for row in _fetched(model, keys)}
    return found


def _fetched(model: Any, keys: set[Any]) -> Any:
    return model._base_manager.select_related().filter(pk__in=keys)
