"""`manage.py words`: collect the texts of pages, merge them into each language's catalogue, compile, say what lacks."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.words import catalogues
from config.words.checking import faults
from config.words.collecting import collect

SHOWN = 20


class Command(BaseCommand):
    help = "Bring the catalogues in config/locale up to date with the texts in the sources, and compile them."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="change nothing; say what is wrong")

    def handle(self, *args: Any, **options: Any) -> None:
        texts, wrong = collect(), 0
        self.stdout.write(f"{len(texts)} texts")
        for language in catalogues.languages():
            if not options["check"]:
                catalogues.write(language, catalogues.merged(language, texts))
            found = faults(catalogues.read(language), texts)
            wrong += len(found)
            self.stdout.write(f"{language}: {len(found)} faults")
            for line in found[:SHOWN]:
                self.stdout.write(f"  {line}")
        for language in catalogues.compile_stale():
            self.stdout.write(f"{language} is compiled")
        if wrong and options["check"]:
            raise CommandError(f"{wrong} faults in the catalogues")
