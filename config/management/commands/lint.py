"""`manage.py lint`: style, types, import contracts, risky calls, known faults of libraries, migrations, deployment."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

BIN = Path(sys.executable).parent
CODE = ("config", "yard", "kilnruns", "drying")
CHECKS = [
    [str(BIN / "ruff"), "check", "."],
    [str(BIN / "ruff"), "format", "--check", "."],
    [str(BIN / "mypy")],
    [str(BIN / "lint-imports")],
    [str(BIN / "bandit"), "--quiet", "--recursive", "--configfile", "pyproject.toml", *CODE, "manage.py"],
    [sys.executable, "manage.py", "audit"],
    [sys.executable, "manage.py", "makemigrations", "--check", "--dry-run"],
    [sys.executable, "manage.py", "words", "--check"],
]
PRODUCTION = {"DRYSTACK_HTTPS": "yes", "DRYSTACK_HOSTS": "yard.example", "DRYSTACK_URL": "https://yard.example"}


class Command(BaseCommand):
    help = "Check style, types, contracts, risky calls, libraries, migrations, catalogues, a deployment's settings."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        environment = {**os.environ, "DRYSTACK_NO_VENV": "1"}
        failed = [" ".join(command) for command in CHECKS if subprocess.run(command, env=environment).returncode]
        deploy = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
        with tempfile.TemporaryDirectory() as data:
            if subprocess.run(deploy, env={**environment, **PRODUCTION, "DRYSTACK_DATA": data}).returncode:
                failed.append("check --deploy")
        if failed:
            raise CommandError("not clean: " + "; ".join(failed))
