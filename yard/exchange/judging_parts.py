"""Rows of boards and of readings held against the yard."""

from collections import defaultdict
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from yard import outlook
from yard.actions.sentsheets import Step
from yard.exchange.fates import NEW, Fate
from yard.models import Board, Method, Reading, SampleBoard, Stack, Tag


class BoardJudge:
    """Boards are hung new; a tagged board that differs is refused, since a sheet can't know which is right."""

    def __init__(self) -> None:
        self.stacks = {one.code: one for one in Stack.objects.standing()}
        self.boards = {one.code: one for one in Board.objects.select_related("stack")}
        self.taken = set(Tag.objects.exclude(stack=None, board=None, replaced_by=None).values_list("code", flat=True))

    def __call__(self, values: dict[str, Any], fate: Fate) -> Fate:
        code, stack = values.pop("tag", ""), self.stacks.get(values["stack"])
        if stack is None:
            return fate.refuse("stack", _("No stack in the yard bears that tag."))
        meant = values | {"stack": stack}
        board = self.boards.get(code)
        if board:
            for name, new in meant.items():
                if getattr(board, name) != new:
                    fate.refuse(name, _("The board of that tag has %(was)s here.") % {"was": getattr(board, name)})
            return fate
        if code in self.taken:
            return fate.refuse("tag", _("That tag hung on something else."))
        fate.kind, fate.step = NEW, Step("boards", meant, code=code or None)
        return fate


class ReadingJudge:
    """A reading is known by stack, time, method and values. Readings are never altered: other values are another."""

    def __init__(self, now: datetime) -> None:
        self.now = now
        self.stacks = {one.code: one for one in Stack.objects.standing().select_related("species", "place")}
        self.boards = {one.code: one for one in Board.objects.filter(stack__in=self.stacks.values())}
        self.dry_g: dict[int, dict[str, float]] = defaultdict(dict)
        for board in SampleBoard.objects.filter(stack__in=self.stacks.values()):
            self.dry_g[board.stack_id][board.label] = board.oven_dry_mass_g
        self.scales = {key for key, _name in outlook.meter_scales()}
        self.known: dict[tuple[Any, ...], Reading] = {}
        for one in Reading.objects.valid().filter(stack__in=self.stacks.values()):
            self.known[self._key(one.stack_id, one.taken_at, one.method, one.raw, one.board_id)] = one
        self.sent: set[tuple[Any, ...]] = set()

    @staticmethod
    def _key(stack: int, at: datetime, method: str, raw: list[Any], board: int | None) -> tuple[Any, ...]:
        return stack, at, method, repr([list(map(float, v)) if isinstance(v, list) else float(v) for v in raw]), board

    def __call__(self, values: dict[str, Any], fate: Fate) -> Fate:
        stack = self.stacks.get(values["stack"])
        if stack is None:
            return fate.refuse("stack", _("No stack in the yard bears that tag."))
        board = self.boards.get(values.get("board") or "")
        if values.get("board") and (board is None or board.stack_id != stack.pk):
            return fate.refuse("board", _("No board of that tag lies in this stack."))
        labels = [one.strip() for one in (values.get("sample_boards") or "").split(";") if one.strip()]
        at, method, raw = values["taken_at"], values["method"], values["values"]
        key = self._key(stack.pk, at, method, raw, board.pk if board else None)
        if key in self.known:
            return self._same(values, self.known[key], fate)
        self._check(stack, at, method, raw, labels, fate)
        if key in self.sent:
            fate.refuse("taken_at", _("An earlier row says the same."))
        self.sent.add(key)
        if not fate.faults:
            self._correct(stack, values, labels, fate)
        if fate.faults:
            return fate
        meant = {"stack": stack, "board": board, "method": method, "taken_at": at, "raw": raw, "sample_labels": labels}
        meant["wood_temperature_c"] = values.get("wood_temperature_c")
        meant["meter_set_to"] = values.get("meter_set_to") or ""
        fate.kind, fate.step = NEW, Step("readings", meant)
        return fate

    def _same(self, values: dict[str, Any], known: Reading, fate: Fate) -> Fate:
        for name in ("wood_temperature_c", "meter_set_to"):
            if name in values and values[name] != getattr(known, name):
                fate.refuse(name, _("This reading is here already, with something else in this column."))
        return fate

    def _check(self, stack: Stack, at: datetime, method: str, raw: list[Any], labels: list[str], fate: Fate) -> None:
        pairs = [isinstance(value, list) for value in raw]
        if at > self.now:
            fate.refuse("taken_at", _("That time is still to come."))
        elif at.date() < stack.cut_on:
            fate.refuse("taken_at", _("The wood was sawn on %(day)s, after that.") % {"day": stack.cut_on.isoformat()})
        if any(pairs) != (method == Method.OVEN_DRY) or (any(pairs) and not all(pairs)):
            fate.refuse("values", _("Sections are pairs like 210/180, and all else is single values."))
        elif method == Method.OVEN_DRY and not all(0 < dry <= wet <= 3.5 * dry for wet, dry in raw):
            fate.refuse("values", _("A section weighs more wet than oven-dry, at most 3.5 times as much."))
        elif method in (Method.PINS, Method.CAPACITANCE) and not all(3 <= value <= 150 for value in raw):
            fate.refuse("values", _("Meters show 3 to 150 %."))
        if method != Method.SAMPLE_BOARD:
            return
        if len(labels) != len(raw):
            fate.refuse("sample_boards", _("Name one sample board for each value."))
        elif not set(labels) <= self.dry_g[stack.pk].keys():
            fate.refuse("sample_boards", _("This stack has no sample board of that name."))

    def _correct(self, stack: Stack, values: dict[str, Any], labels: list[str], fate: Fate) -> None:
        """Try the correction that the reading will get, so that what no wood can be is told beforehand."""
        method, set_to = values["method"], values.get("meter_set_to") or ""
        if set_to and (method != Method.PINS or set_to not in self.scales):
            fate.refuse("meter_set_to", _("For pins alone, and the key of a wood whose scale is known."))
            return
        dry_g = [self.dry_g[stack.pk][label] for label in labels] if method == Method.SAMPLE_BOARD else []
        temperature_c = values.get("wood_temperature_c")
        try:
            outlook.correct(method, values["values"], temperature_c, set_to, stack.species, oven_dry_g=dry_g)
        except ValueError as error:
            fate.refuse("values", _("No wood can be so: %(why)s") % {"why": error})
