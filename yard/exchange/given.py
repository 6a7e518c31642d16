"""What stands in the yard, as rows of a sheet, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from yard.exchange.cells import number_text
from yard.models import Board, Importance, Need, Reading, Species, Stack, TallyLine
from yard.models.toldfield import kept

Cells = list[Any]
WITH_STACKS = ("species", "place")
"""Read beside the stacks, not joined to each: one row of a species for all its stacks. Thousands of copies of it are
what the collector of garbage goes through again and again, so that the time grows faster than the rows."""


def tally_text(lines: Iterable[tuple[int, int, int]]) -> str:
    return "; ".join(f"{length}x{width}x{count}" for length, width, count in lines)


def tallies() -> dict[int, list[tuple[int, int, int]]]:
    """Length, width and boards of each line, by standing stack; plain tuples, which cost the collector nothing."""
    found: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
    lines = TallyLine.objects.filter(stack__in=Stack.objects.standing())
    for stack, *line in lines.values_list("stack_id", "length_mm", "width_mm", "count"):
        found[stack].append((line[0], line[1], line[2]))
    return found


def raw_text(raw: Iterable[Any]) -> str:
    return "; ".join("/".join(map(number_text, one)) if isinstance(one, list) else number_text(one) for one in raw)


def moment_text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat()


def stacks() -> Iterable[Cells]:
    """All standing stacks by tag."""
    lines = tallies()
    for one in Stack.objects.standing().prefetch_related(*WITH_STACKS).order_by("code"):
        pack = [one.pack_length_mm, one.pack_width_mm, one.pack_height_mm]
        kiln = [_plain(one.kiln_entry_pct), _plain(one.target_pct)]
        tally = tally_text(lines[one.pk])
        head = [one.code, one.species.kept_name, one.place.name, _plain(one.thickness_mm), one.cut_on, tally]
        wood = [_plain(one.sticker_mm), one.wood_part, _plain(one.initial_moisture_pct)]
        tail = [_plain(one.value_per_m3), kept(one, "set_aside_for"), one.kiln_dried_on, one.note]
        yield [*head, *wood, *kiln, *pack, *tail]


def boards() -> Iterable[Cells]:
    """All boards with a tag of their own in standing stacks."""
    found = Board.objects.filter(stack__in=Stack.objects.standing()).select_related("stack").order_by("code")
    return ([one.code, one.stack.code, one.length_mm, one.width_mm, one.note] for one in found)


def readings() -> Iterable[Cells]:
    """All valid readings of standing stacks, by stack and time."""
    found = Reading.objects.valid().filter(stack__in=Stack.objects.standing()).select_related("stack", "board")
    for one in found.order_by("stack__code", "taken_at", "pk"):
        head = [one.stack.code, moment_text(one.taken_at), one.method, raw_text(one.raw)]
        labels = "; ".join(one.sample_labels)
        board = one.board.code if one.board else ""
        yield [*head, labels, _plain(one.wood_temperature_c), one.meter_set_to, board, _plain(one.moisture_pct)]


def needs() -> Iterable[Cells]:
    """All open needs by day, a row a line; a need without lines has one row that leaves the line's cells empty."""
    for need in Need.objects.open().with_lines():
        importance = importance_word(need.importance)
        head = [need.name, need.wanted_by, need.use, _plain(need.target_pct), importance, need.note]
        lines = list(need.lines.all())
        for number, line in enumerate(lines, start=1):
            size = [_plain(line.thickness_mm), line.width_mm, line.length_mm, _plain(line.quantity), line.unit]
            yield [*head, number, species_text(line.species.all()), *size]
        if not lines:
            yield [*head, *[None] * 7]


def importance_word(importance: int) -> str:
    return Importance(importance).name.lower()


def wood_names(wood: Species) -> set[str]:
    """All by which a sheet may call it: its key, the book's name, the reader's."""
    return {wood.key, wood.kept_name, wood.name}


def species_text(species: Iterable[Any]) -> str:
    return "; ".join(sorted(one.kept_name for one in species))


def _plain(number: float | None) -> float | int | None:
    """Whole numbers without a point, so that both kinds of file show the same."""
    return int(number) if number is not None and float(number).is_integer() else number


GIVEN = {"stacks": stacks, "boards": boards, "readings": readings, "needs": needs}
