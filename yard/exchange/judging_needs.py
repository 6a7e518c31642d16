"""Rows of needs held against the yard: a row is a line of a need, with what the whole need says beside it."""

import math
from collections import defaultdict
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from yard import outlook
from yard.actions.sentsheets import Step
from yard.exchange.fates import CHANGED, NEW, Fate
from yard.exchange.given import importance_word, species_text, wood_names
from yard.fields.lineunit import line_faults
from yard.models import Importance, Need, NeedLine, Purpose, Species

_HEAD = ("wanted_by", "use", "target_pct", "importance", "note")
_LINE = ("species", "thickness_mm", "width_mm", "length_mm", "quantity", "unit")
_EACH_LINE = ("species", "thickness_mm", "quantity", "unit")
_MOST_SPECIES = 2
_KEEP_WHEN_EMPTY = ("use", "target_pct", "importance")

Row = dict[str, Any]


class NeedJudge:
    """All that rows are held against is read once: a fixed number of queries. A need is known by its name, and by its
    day where several bear it."""

    def __init__(self) -> None:
        self.species = {name.casefold(): one for one in Species.objects.all() for name in wood_names(one)}
        self.named: dict[str, list[Need]] = defaultdict(list)
        for need in Need.objects.open().with_lines():
            self.named[need.name].append(need)
        self.met = set(Need.objects.exclude(met_at=None).values_list("name", "wanted_by"))
        self.said: dict[Any, Row] = {}
        self.claimed: set[tuple[Any, int]] = set()

    def __call__(self, values: Row, fate: Fate) -> Fate:
        need = self._need(values["need"], values["wanted_by"], fate)
        if fate.faults:
            return fate
        head = {name: values[name] for name in _HEAD if name in values}
        for name in _KEEP_WHEN_EMPTY:
            if head.get(name) in (None, ""):
                head.pop(name, None)
        key = need.pk if need else (values["need"], values["wanted_by"])
        self._agree(key, head, fate)
        number = values.get("line")
        line = self._line(need, number, fate)
        fields = self._fields(values, line, fate)
        if fields and not number and not fate.faults:
            line = self._alike(need, key, fields)
        if number and (key, number) in self.claimed:
            fate.refuse("line", _("An earlier row has the same line of this need."))
        if need is None:
            head = self._whole({"name": values["need"], **self.said.get(key, {}), **head}, fate)
        return fate if fate.faults else self._judged(need, key, head, line, number, fields, fate)

    def _need(self, name: str, wanted_by: date, fate: Fate) -> Need | None:
        """The need that a row speaks of; None for a new one."""
        named = self.named.get(name, [])
        found = [one for one in named if one.wanted_by == wanted_by] or named
        if len(found) > 1:
            fate.refuse("need", _("Several needs bear this name. Give each a name of its own first."))
        elif not found and (name, wanted_by) in self.met:
            fate.refuse("need", _("The need of this name and day is met. Say at its page that it is wanted again."))
        return found[0] if found else None

    def _agree(self, key: Any, head: Row, fate: Fate) -> None:
        before = self.said.get(key, {})
        for name, value in head.items():
            if name in before and before[name] != value:
                fate.refuse(name, _("An earlier row of this need says otherwise: %(was)s.") % {
                    "was": _shown(name, before[name])
                })  # fmt: skip

    def _line(self, need: Need | None, number: int | None, fate: Fate) -> NeedLine | None:
        if need is None or not number:
            return None
        lines = list(need.lines.all())
        if number <= len(lines):
            return lines[number - 1]
        fate.refuse("line", _("This need has %(count)d lines. Leave it empty for a new line.") % {"count": len(lines)})
        return None

    def _fields(self, values: Row, line: NeedLine | None, fate: Fate) -> Row:
        """The whole line as it would be, species as rows of the book; empty where the row holds no line."""
        given = {name: values[name] for name in _LINE if name in values}
        if not values.get("line") and all(value in (None, "") for value in given.values()):
            return {}
        before = _fields_of(line) if line else dict.fromkeys(_LINE)
        if "species" in given:
            given["species"] = self._woods(given["species"] or "", before["species"] or [], fate)
        fields = before | given
        for name in _EACH_LINE:
            if fields[name] in (None, "", []) and name not in dict(fate.faults):
                fate.refuse(name, _("This is needed."))
        for name, why in line_faults(fields):
            fate.refuse(name, why)
        return fields

    def _woods(self, text: str, before: list[Species], fate: Fate) -> list[Species]:
        names = [name.strip() for name in text.split(";") if name.strip()]
        unknown = [name for name in names if name.casefold() not in self.species]
        if unknown:
            fate.refuse("species", _("The book has no species “%(name)s”; its name or key is needed.") % {
                "name": unknown[0][:40]
            })  # fmt: skip
            return []
        woods = list({self.species[name.casefold()].pk: self.species[name.casefold()] for name in names}.values())
        if len(woods) > _MOST_SPECIES and {one.pk for one in woods} != {one.pk for one in before}:
            fate.refuse("species", _("A line takes one species, or one of two."))
        return woods

    def _alike(self, need: Need | None, key: Any, fields: Row) -> NeedLine | None:
        """A line that is just so already and that no earlier row spoke of: a sheet sent twice adds nothing."""
        for number, line in enumerate(need.lines.all() if need else [], start=1):
            if (key, number) not in self.claimed and not _changes(_fields_of(line), fields):
                self.claimed.add((key, number))
                return line
        return None

    def _whole(self, head: Row, fate: Fate) -> Row:
        """What a new need says, with what its use says where its rows are silent."""
        whole = {"use": Purpose.OTHER.value, "importance": Importance.USUAL.value, "note": "", **head}
        if whole.get("target_pct") is None:
            whole["target_pct"] = outlook.usual_target_pct(whole["use"])
        if whole["target_pct"] is None:
            fate.refuse("target_pct", _("Give the moisture, or say what it is for."))
        return whole

    def _judged(self, need: Need | None, key: Any, head: Row, line: NeedLine | None, number: int | None,
                fields: Row, fate: Fate) -> Fate:  # fmt: skip
        """The fate of a row without faults, which later rows are held against."""
        said, adds = self.said.get(key), bool(fields) and line is None
        self.said[key] = (said or {}) | head
        if number:
            self.claimed.add((key, number))
        if need:
            head = {
                name: new
                for name, new in head.items()
                if name not in (said or {}) and _differ(getattr(need, name), new)
            }
            fate.changes = [(name, _shown(name, getattr(need, name)), _shown(name, new)) for name, new in head.items()]
        elif said is None:
            fate.changes.append(("need", "–", _("a new need")))
        changed = _changes(_fields_of(line), fields) if line and fields else []
        fate.changes += [*changed, ("line", "–", _("one more line"))] if adds else changed
        if fate.changes:
            fate.kind = NEW if need is None or adds else CHANGED
            extra = {"fields": fields, "line": line} if changed or adds else {}
            fate.step = Step("needs", head, thing=need, extra=extra)
        return fate


def _fields_of(line: NeedLine) -> Row:
    return {name: getattr(line, name) for name in _LINE if name != "species"} | {"species": list(line.species.all())}


def _differ(one: Any, other: Any) -> bool:
    """A workbook keeps some 15 digits of a number: what only differs behind them is the same."""
    if isinstance(one, int | float) and isinstance(other, int | float):
        return not math.isclose(one, other, rel_tol=1e-14)
    return bool(one != other)


def _changes(before: Row, after: Row) -> list[tuple[str, str, str]]:
    shown = [(name, _shown(name, before[name]), _shown(name, after[name])) for name in _LINE]
    differs = {name for name in _LINE if name != "species" and _differ(before[name], after[name])}
    if {one.pk for one in before["species"]} != {one.pk for one in after["species"] or []}:
        differs.add("species")
    return [one for one in shown if one[0] in differs]


def _shown(name: str, value: Any) -> str:
    if value in (None, "", []):
        return "–"
    if name == "importance":
        return importance_word(value)
    if name == "species":
        return species_text(value)
    return f"{value:g}" if isinstance(value, float) else str(value)
