"""The published tables as retyped in published/, each row with its source and whether it was recalled."""

import csv
from pathlib import Path

PUBLISHED = Path(__file__).parent / "published"


def published(name: str) -> list[dict[str, str]]:
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))
