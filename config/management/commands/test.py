"""`manage.py test [core|app|browser] [--at-length] [pytest's own arguments]`: the suite, or a layer of it."""

import os
import subprocess
import sys

from django.core.management import call_command
from django.core.management.base import BaseCommand

LAYERS = {
    "core": ["tests/drying", "tests/test_architecture.py"],
    "app": ["-m", "not browser", "tests/yard", "tests/kilnruns", "tests/config", "tests/pwa"],
    "browser": ["-m", "browser", "tests"],
}
"""From quick to slow: the computing core by itself; pages, rows and commands; what a real browser makes of them."""
AT_LENGTH = "--at-length"
BY_FILE = ["--dist", "loadfile", "--no-loadscope-reorder"]
"""A file's tests on one core, one after the other: so its browser, and what its tests share, is started once."""


class Command(BaseCommand):
    help = (
        "Run the whole test suite, or one layer of it: core, app or browser. --at-length draws more examples, plans "
        "larger yards and kills at more moments. Further words go to pytest (a folder, -k WORD, -n 0)."
    )
    requires_system_checks: list[str] = []

    def run_from_argv(self, argv: list[str]) -> None:
        """Hand everything else after `test` to pytest untouched, and end with its exit code."""
        call_command("vendor")
        arguments = [one for word in argv[2:] for one in LAYERS.get(word, [word]) if one != AT_LENGTH]
        if not any(word.startswith("-n") for word in arguments):
            arguments = ["-n", "auto", *BY_FILE, *arguments]
        # One process a core; more threads inside numpy only get in each other's way.
        environment = {**os.environ, "OMP_NUM_THREADS": "1", "DRYSTACK_NO_VENV": "1"}
        # Tests start some hundred processes: without their modules' bytecode each would compile all of them anew.
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        if AT_LENGTH in argv:
            environment["DRYSTACK_AT_LENGTH"] = "yes"
        command = [sys.executable, "-m", "pytest", *arguments]
        sys.exit(subprocess.run(command, env=environment, check=False).returncode)
