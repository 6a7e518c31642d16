"""What a paper states, gathered from the yard as plain data that is frozen when the paper is issued.

`gathered` gives a dict that JSON holds: format, kind, issued_on, issued_by, mill, to, note, stated (what was chosen to
be stated), items, runs. Lengths in mm, volumes in m3, moisture in % of oven-dry mass, temperatures in °C, days as
ISO 8601. What is not known is None; what was chosen not to be stated is not there. Words are made of it when shown
(kilnruns/templatetags/paper_words.py), so that a paper says the same on the screen, on paper and to whoever has its
link.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Any

from django.db.models import Prefetch

from kilnruns.models import PaperKind
from kilnruns.papers.moisture import moisture_of
from kilnruns.papers.runs import Run, quality_of, run_facts, runs_of
from yard.models import Board, Mill, Reading, Stack

FORMAT = 1
STATES = ("moisture", "run", "quality")
WET_FROM_PCT = 30.0  # about fibre saturation: from here on a meter only says "wet", and nothing can be called dry


@dataclass(frozen=True, slots=True)
class Subject:
    """What a paper is about: a whole stack, or one of its boards that bears a tag of its own."""

    stack: Stack
    board: Board | None = None

    @property
    def code(self) -> str:
        return self.board.code if self.board else self.stack.code


@dataclass(frozen=True, slots=True)
class Wish:
    """What a person typed: `depth_mm` is how deep the pins went, as that person says."""

    kind: str
    to: str
    stated: tuple[str, ...]
    note: str = ""
    depth_mm: float | None = None


def subjects_of(codes: Sequence[str]) -> list[Subject]:
    """Stacks and tagged boards by their codes, in that order, with all that `gathered` reads, in a fixed number of
    queries. Unknown codes and stacks that were joined into others are left out."""
    boards = {board.code: board for board in Board.objects.filter(code__in=codes)}
    wanted = set(codes) | set(Stack.objects.filter(boards__code__in=codes).values_list("code", flat=True))
    stacks = {stack.code: stack for stack in with_all().filter(code__in=wanted, joined_into=None)}
    by_pk = {stack.pk: stack for stack in stacks.values()}
    found = []
    for code in dict.fromkeys(codes):
        board = boards.get(code)
        stack = by_pk.get(board.stack_id) if board else stacks.get(code)
        if stack is not None:
            found.append(Subject(stack, board))
    return found


def with_all() -> Any:
    """Stacks with what a paper reads of them."""
    valid = Reading.objects.valid().select_related("made_by").order_by("taken_at", "pk")
    origins = "split_from__split_from__split_from"
    return Stack.objects.select_related("species", "place", origins).prefetch_related(
        "lines", Prefetch("readings", valid, to_attr="valid_readings")
    )


def gathered(subjects: Sequence[Subject], wish: Wish, *, by: Any, on: date) -> dict[str, Any]:
    """The facts of a paper issued that day."""
    runs = runs_of([subject.stack for subject in subjects])
    charges = list({run.charge.pk: run for run in runs.values()}.values())
    mill = Mill.current()
    facts: dict[str, Any] = {
        "format": FORMAT,
        "kind": wish.kind,
        "issued_on": on.isoformat(),
        "issued_by": str(by.get_full_name() or by.get_username()) if by else "",
        "mill": mill.name if mill else "",
        "to": wish.to,
        "note": wish.note,
        "stated": [one for one in STATES if one in wish.stated],
        "items": [_item(subject, wish, runs.get(subject.stack.pk), charges) for subject in subjects],
    }
    if "run" in wish.stated:
        facts["runs"] = [run_facts(run) for run in charges]
    return facts


def _item(subject: Subject, wish: Wish, run: Run | None, charges: Sequence[Run]) -> dict[str, Any]:
    stack, board = subject.stack, subject.board
    lines = [(board.length_mm, board.width_mm, 1)] if board else _lines(stack)
    volume = sum(length * width * count for length, width, count in lines) / 1e9 * stack.thickness_mm
    facts: dict[str, Any] = {
        "code": subject.code,
        "board_of": stack.code if board else None,
        "species": stack.species.kept_name,
        "latin": stack.species.latin_name,
        "thickness_mm": stack.thickness_mm,
        "dried_mm": run.dried_mm if run else None,
        "lines": [list(line) for line in lines],
        "pieces": sum(line[2] for line in lines),
        "volume_m3": round(volume, 4),
        "dry_share": run.dry_share if run else None,
        "sawn_on": stack.cut_on.isoformat(),
        "kiln_dried_on": stack.kiln_dried_on and stack.kiln_dried_on.isoformat(),
    }
    if "moisture" in wish.stated:
        facts["moisture"] = moisture_of(stack, board, run, wish.depth_mm)
    if "run" in wish.stated:
        facts["run"] = [one.charge.pk for one in charges].index(run.charge.pk) if run else None
    if "quality" in wish.stated:
        facts["quality"] = quality_of(run)
    return facts


def _lines(stack: Stack) -> list[tuple[int, int, int]]:
    return [(line.length_mm, line.width_mm, line.count) for line in stack.lines.all()]


def not_dry(facts: dict[str, Any]) -> dict[str, str]:
    """By tag, why no dry certificate can be given for it: unread, read_before_run, wet. Empty where all can be."""
    if facts["kind"] != PaperKind.DRY_CERTIFICATE:
        return {}
    found = {item["code"]: _lacking(item.get("moisture")) for item in facts["items"]}
    return {code: why for code, why in found.items() if why}


def _lacking(moisture: dict[str, Any] | None) -> str:
    if moisture is None:
        return "unread"
    if moisture["before_run"]:
        return "read_before_run"
    return "wet" if moisture["mean_pct"] >= WET_FROM_PCT else ""


def mark(facts: dict[str, Any], number: int) -> str:
    """Twelve characters that change when any fact does, for comparing a print with the page; no proof by themselves."""
    text = json.dumps([number, facts], sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    digest = sha256(text.encode()).hexdigest()[:12].upper()
    return " ".join(digest[at : at + 4] for at in (0, 4, 8))
