"""The sheets by key: their columns, what is given out, an example, and how a file's rows are judged."""

from datetime import datetime

from django.utils import timezone

from yard.exchange import files
from yard.exchange.columns import SHEETS
from yard.exchange.fates import Fate, judged
from yard.exchange.given import GIVEN
from yard.exchange.judging_needs import NeedJudge
from yard.exchange.judging_parts import BoardJudge, ReadingJudge
from yard.exchange.judging_stacks import StackJudge


def export(key: str, form: str) -> bytes:
    return files.written(SHEETS[key], GIVEN[key](), form)


def example(key: str, form: str) -> bytes:
    """A file with one row, from the columns' own examples. What it says is invented."""
    return files.written(SHEETS[key], [[column.example for column in SHEETS[key]]], form)


def fates(key: str, content: bytes, now: datetime) -> list[Fate]:
    """What each row of a file would do. Raises ValidationError where the whole file is none."""
    rows = files.read(content, SHEETS[key])
    if key == "stacks":
        return judged(rows, SHEETS[key], StackJudge(timezone.localtime(now).date()), "tag")
    if key == "boards":
        return judged(rows, SHEETS[key], BoardJudge(), "tag")
    return judged(rows, SHEETS[key], NeedJudge() if key == "needs" else ReadingJudge(now), "")
