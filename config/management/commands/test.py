"""`manage.py test [pytest's own arguments]`: the contracts, then the whole suite."""

import os
import subprocess
import sys

from django.core.management import call_command
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Run the whole test suite; further words go to pytest (a folder, -k WORD, -n 0)."
    requires_system_checks: list[str] = []

    def run_from_argv(self, argv: list[str]) -> None:
        """Hand everything after `test` to pytest untouched, and end with its exit code."""
        call_command("vendor")
        arguments = argv[2:]
        if not any(word.startswith("-n") for word in arguments):
            arguments = ["-n", "auto", *arguments]
        # One process a core; more threads inside numpy only get in each other's way.
        environment = {**os.environ, "OMP_NUM_THREADS": "1", "DRYSTACK_NO_VENV": "1"}
        command = [sys.executable, "-m", "pytest", *arguments]
        sys.exit(subprocess.run(command, env=environment, check=False).returncode)
