"""`manage.py refit`: each wood's drying rate fitted anew to published air-drying times, into the packaged table."""

import csv
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from drying.rates import refitted

TABLE = Path("drying") / "tables" / "species_figures.csv"


class Command(BaseCommand):
    help = "Fit the drying rates of the packaged species table anew, and write them into it."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        path = Path(settings.BASE_DIR) / TABLE
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        found = refitted()
        changed = 0
        for row in rows:
            if row["figure"] in ("rate", "rate_log_sd"):
                before = dict(row)
                fitted = found[row["key"]]
                row["value"] = f"{getattr(fitted, row['figure']):g}"
                if row["figure"] == "rate":
                    row["source"] = fitted.source.text
                    row["from_memory"] = "yes" if fitted.source.from_memory else "no"
                changed += row != before
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
        self.stdout.write(f"{len(found)} rates fitted; {changed} rows of {TABLE} changed.")
