"""Published tables packaged with the core, one tidy CSV each; every row names its source and says whether it is recalled."""

import csv
from functools import cache
from importlib import resources


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of the packaged table `name` (with or without .csv), as read: text, by column name."""
    path = resources.files(__name__) / f"{name.removesuffix('.csv')}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))
