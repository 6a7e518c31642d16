"""`migrate` from an earlier state with rows in it, killed by the kernel between two of its statements and run again:
it ends in this version's tables, with every row there."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from tests.config import killed_migrating
from tests.config.databases import KINDS, fresh, run
from tests.effort import effort, not_in_each_run

pytestmark = pytest.mark.postgres
MOMENTS = os.environ.get("DRYSTACK_MOMENTS", effort("2", "12"))
"""How many are tried, drawn by seed; DRYSTACK_MOMENTS=9999 tries each."""


@not_in_each_run
@pytest.mark.parametrize("kind", KINDS)
def test_killed_at_any_moment_it_is_run_again_and_nothing_is_lost(kind: str, tmp_path: Path) -> None:
    with fresh(kind, tmp_path, "migrating") as environment:
        command = [sys.executable, killed_migrating.__file__, MOMENTS]
        environment |= {"PYTHONPATH": str(settings.BASE_DIR)}
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        found = json.loads(done.stdout.splitlines()[-1])
    print(kind, found)
    assert found["wrong"] == []
    assert found["killed"] == min(int(MOMENTS), found["statements"])
    assert found["rows"] > 100


TWICE = """
import os, sys, django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
"""


def test_two_machines_that_migrate_at_once_do_it_once(tmp_path: Path) -> None:
    with fresh("postgresql", tmp_path, "twice") as environment:
        both = [subprocess.Popen([sys.executable, "-c", TWICE], cwd=settings.BASE_DIR, env=environment) for _ in "ab"]
        assert [one.wait() for one in both] == [0, 0]
        assert run(TWICE.replace("verbosity=0", "check_unapplied=True, verbosity=0") + "print(1)", environment) == 1
