"""What each row of a file would do: new, changed, same, or refused with the reason at its column. Writes nothing."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from yard.actions.sentsheets import Step
from yard.exchange.columns import Column

NEW, CHANGED, SAME, REFUSED = "new", "changed", "same", "refused"


@dataclass(slots=True)
class Fate:
    """`changes` are (column, before, after); `faults` are (column, what is wrong)."""

    line: int
    name: str
    kind: str = SAME
    changes: list[tuple[str, str, str]] = field(default_factory=list)
    faults: list[tuple[str, str]] = field(default_factory=list)
    step: Step | None = None

    def refuse(self, column: str, why: str) -> "Fate":
        self.faults.append((column, why))
        self.kind, self.step = REFUSED, None
        return self


class Reader:
    """Reads rows cell by cell with the columns' own fields, made once for all rows."""

    def __init__(self, columns: Sequence[Column]) -> None:
        self.columns = {column.name: column for column in columns}
        self.fields = {column.name: column.make() for column in columns if column.make}

    def values(self, cells: dict[str, str], fate: Fate) -> dict[str, Any]:
        """What the good cells mean; the bad ones go to the row's faults."""
        found: dict[str, Any] = {}
        for name in self.fields.keys() & cells.keys():
            try:
                found[name] = self._value(name, cells[name])
            except ValidationError as error:
                fate.refuse(name, " ".join(error.messages))
        fate.faults.sort(key=lambda fault: list(self.columns).index(fault[0]))
        return found

    def _value(self, name: str, cell: str) -> Any:
        if not cell and self.columns[name].required:
            raise ValidationError(_("This is needed."))
        return self.fields[name].clean(cell)


Judge = Callable[[dict[str, Any], Fate], Fate]


def judged(rows: Sequence[tuple[int, dict[str, str]]], columns: Sequence[Column], judge: Judge, key: str) -> list[Fate]:
    """Each row's fate. `key` is the column that two rows may not share a value in, or nothing."""
    reader, fates = Reader(columns), []
    seen: set[Any] = set()
    for line, cells in rows:
        fate = Fate(line, next((cell for cell in cells.values() if cell), ""))
        values = reader.values(cells, fate)
        if key and values.get(key) and values[key] in seen:
            fate.refuse(key, _("An earlier row has the same tag."))
        seen.add(values.get(key))
        fates.append(fate if fate.faults else judge(values, fate))
    return fates


def counted(fates: Sequence[Fate]) -> dict[str, int]:
    counts = Counter(fate.kind for fate in fates)
    return {kind: counts[kind] for kind in (NEW, CHANGED, SAME, REFUSED)}
