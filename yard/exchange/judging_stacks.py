"""Rows of stacks held against the yard."""

from collections import Counter
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from yard.actions.sentsheets import Step
from yard.exchange.fates import CHANGED, NEW, Fate
from yard.exchange.given import WITH_STACKS, tallies, tally_text, wood_names
from yard.models import Place, PlaceKind, Species, Stack, Tag
from yard.models.keptwords import set_aside

_NAMES = {"sawn_on": "cut_on"}
_PACK = ("pack_length_mm", "pack_width_mm", "pack_height_mm")
_KEEP_WHEN_EMPTY = ("sticker_mm", "wood_part", "kiln_entry_pct", "target_pct")


class StackJudge:
    """All that rows are held against is read once: a fixed number of queries."""

    def __init__(self, today: date) -> None:
        self.today = today
        self.species = {name.casefold(): one for one in Species.objects.all() for name in wood_names(one)}
        self.places = {one.name.casefold(): one for one in Place.objects.all()}
        standing = Stack.objects.standing().prefetch_related(*WITH_STACKS)
        self.stacks = {one.code: one for one in standing}
        self.tallies = tallies()
        self.taken = set(Tag.objects.exclude(stack=None, board=None, replaced_by=None).values_list("code", flat=True))

    def __call__(self, values: dict[str, Any], fate: Fate) -> Fate:
        code = values.pop("tag", "")
        stack = self.stacks.get(code)
        if stack is None and code in self.taken:
            return fate.refuse("tag", _("That tag hung on something else, or its stack is no longer in the yard."))
        meant = {_NAMES.get(name, name): value for name, value in values.items()}
        for name in _KEEP_WHEN_EMPTY:
            if meant.get(name) in (None, ""):
                meant.pop(name, None)
        self._look_up(meant, stack, fate)
        if not fate.faults:
            self._check(meant, stack or Stack(), fate)
        if fate.faults:
            return fate
        return self._changed(stack, meant, fate) if stack else self._new(code, meant, fate)

    def _look_up(self, meant: dict[str, Any], stack: Stack | None, fate: Fate) -> None:
        species = self.species.get(meant["species"].casefold())
        place = self.places.get(meant["place"].casefold())
        if species is None:
            fate.refuse("species", _("The book has no such species; its name or key is needed."))
        if place is None:
            fate.refuse("place", _("The yard has no such place; add it first."))
        elif place.kind == PlaceKind.KILN and (stack is None or stack.place_id != place.pk):
            fate.refuse("place", _("That is a kiln; stacks come into it by its charge."))
        meant |= {"species": species, "place": place}

    def _check(self, meant: dict[str, Any], before: Stack, fate: Fate) -> None:
        after = {name: meant.get(name, getattr(before, name)) for name in ("kiln_entry_pct", "target_pct", *_PACK)}
        if not date(1950, 1, 1) <= meant["cut_on"] <= self.today:
            fate.refuse("sawn_on", _("That day is still to come, or too long ago; is the year right?"))
        if after["kiln_entry_pct"] < after["target_pct"]:
            fate.refuse("kiln_entry_pct", _("Below the target; the kiln could only make it wetter."))
        lacking = [name for name in _PACK if not after[name]]
        if lacking and len(lacking) < len(_PACK):
            fate.refuse(lacking[0], _("A pack needs all three sizes, or none."))
        dried = meant.get("kiln_dried_on")
        if dried and not meant["cut_on"] <= dried <= self.today:
            fate.refuse("kiln_dried_on", _("That is before it was sawn, or still to come."))
        if before.kiln_dried_on and "kiln_dried_on" in meant and not dried:
            fate.refuse("kiln_dried_on", _("It is kiln-dried; a sheet can't take that back."))

    def _new(self, code: str, meant: dict[str, Any], fate: Fate) -> Fate:
        fate.kind, fate.step = NEW, Step("stacks", meant, code=code or None)
        return fate

    def _changed(self, stack: Stack, meant: dict[str, Any], fate: Fate) -> Fate:
        lines = self.tallies[stack.pk]
        changes = {name: new for name, new in meant.items() if name != "tally" and _differs(stack, name, new)}
        shown = [(name, _shown(getattr(stack, name)), _shown(new)) for name, new in changes.items()]
        if _same_boards(lines, meant["tally"]):
            meant.pop("tally")
        else:
            changes["tally"] = meant["tally"]
            shown.append(("tally", tally_text(lines), tally_text(meant["tally"])))
        if changes:
            fate.kind, fate.changes = CHANGED, shown
            fate.step = Step("stacks", changes, thing=stack)
        return fate


def _differs(stack: Stack, name: str, new: Any) -> bool:
    """What a stack is kept for is given out as it is kept, and compared as it is told."""
    return bool(getattr(stack, name) != (set_aside(new) if name == "set_aside_for" else new))


def _same_boards(one: list[tuple[int, int, int]], other: list[tuple[int, int, int]]) -> bool:
    counts = []
    for lines in (one, other):
        found: Counter[tuple[int, int]] = Counter()
        for length, width, count in lines:
            found[length, width] += count
        counts.append(found)
    return counts[0] == counts[1]


def _shown(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:g}"
    return "–" if value in (None, "") else str(value)
