"""`manage.py bench [NAME]`: one line a figure: name, value, unit, goal, ok or short."""

import importlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser


def topics() -> list[str]:
    folder = Path(settings.BASE_DIR) / "tests" / "bench"
    return sorted(path.stem.removeprefix("bench_") for path in folder.glob("bench_*.py"))


def figures(topic: str) -> Iterator[Any]:
    yield from importlib.import_module(f"tests.bench.bench_{topic}").figures()


class Command(BaseCommand):
    help = "Run the benchmarks, or the one that is named."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="?", help="one of: " + ", ".join(topics()))

    def handle(self, *args: Any, **options: Any) -> None:
        os.environ.setdefault("OMP_NUM_THREADS", "1")
        wanted = options["name"]
        if wanted and wanted not in topics():
            raise CommandError(f"there is no benchmark {wanted!r}; there are: {', '.join(topics())}")
        for topic in [wanted] if wanted else topics():
            for figure in figures(topic):
                verdict = "ok" if figure.ok else "short"
                self.stdout.write(f"{figure.name}\t{figure.value:.4g}\t{figure.unit}\t{figure.goal}\t{verdict}")
