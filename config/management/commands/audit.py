"""`manage.py audit`: whether anything is known against the libraries that are installed here."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.auditing import audit


class Command(BaseCommand):
    help = "Ask PyPI what is known against the installed libraries. Where it can't be asked, that is said."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--strict", action="store_true", help="fail where it could not be asked; for a release")

    def handle(self, *args: Any, **options: Any) -> None:
        found = audit()
        if found.known:
            raise CommandError("known vulnerabilities:\n" + "\n".join(found.known))
        unasked = len(found.unasked)
        if found.says_something and not unasked:
            self.stdout.write(f"Audited {found.asked} libraries: nothing is known against them.")
            return
        if found.says_something:
            words = f"PARTLY AUDITED: nothing is known against {found.asked} libraries; no answer for {unasked}: "
            words += ", ".join(found.unasked)
        else:
            reason = found.trouble or f"no answer for any of {unasked} libraries"
            words = f"NOT AUDITED: the service that knows of vulnerabilities can't be reached from here ({reason})."
        if options["strict"]:
            raise CommandError(words)
        self.stdout.write(words)
