"""Published tables packaged with the core, one tidy CSV each; every row has its source and whether it is recalled."""

import csv
from functools import cache
from importlib import resources


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of the packaged table `name` (with or without .csv), as read: text, by column name."""
    path = resources.files(__name__) / f"{name.removesuffix('.csv')}.csv"
    return tuple(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
