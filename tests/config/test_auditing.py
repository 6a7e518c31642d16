"""What pip-audit's answers come to: a library that nobody could ask about is never called clean."""

import json
import subprocess
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from config import auditing
from config.auditing import told

CLEAN = {"name": "django", "version": "5.2.19", "vulns": []}
SKIPPED = {"name": "numpy", "skip_reason": "Dependency not found on PyPI and could not be audited: numpy (2.4.6)"}
BAD = {"name": "pillow", "version": "1.0", "vulns": [{"id": "PYSEC-0000-1", "fix_versions": ["1.1"]}]}


def answers(monkeypatch: pytest.MonkeyPatch, *libraries: dict[str, Any], errors: str = "") -> None:
    out = json.dumps({"dependencies": libraries, "fixes": []}) if libraries else ""
    done = subprocess.CompletedProcess([], 0, out, errors)
    monkeypatch.setattr(auditing.subprocess, "run", lambda *_args, **_named: done)


def said(*options: str) -> str:
    out = StringIO()
    call_command("audit", *options, stdout=out)
    return out.getvalue()


def test_what_is_known_is_a_failure_with_its_name_and_the_version_that_mends_it(monkeypatch):
    answers(monkeypatch, CLEAN, BAD)
    with pytest.raises(CommandError, match=r"pillow 1.0: PYSEC-0000-1 \(mended in: 1.1\)"):
        said()


def test_all_asked_and_nothing_known(monkeypatch):
    answers(monkeypatch, CLEAN)
    assert said("--strict") == "Audited 1 libraries: nothing is known against them.\n"


def test_nothing_asked_is_no_audit_though_the_tool_calls_it_clean(monkeypatch):
    answers(monkeypatch, SKIPPED, errors="No known vulnerabilities found")
    assert said().startswith("NOT AUDITED")
    with pytest.raises(CommandError, match="NOT AUDITED"):
        said("--strict")


def test_some_asked_says_which_were_not(monkeypatch):
    answers(monkeypatch, CLEAN, SKIPPED)
    assert said() == "PARTLY AUDITED: nothing is known against 1 libraries; no answer for 1: numpy\n"
    with pytest.raises(CommandError):
        said("--strict")


def test_a_tool_that_falls_over_is_no_audit(monkeypatch):
    answers(monkeypatch, errors="Traceback\nConnectionError: no way there")
    assert "no way there" in said()
    assert not told("[]", "").says_something
