"""Secrets come from the environment or the data folder; none stands in what is committed."""

import re
import subprocess
from pathlib import Path

import pytest
from django.conf import settings

# What keys and tokens look like, wherever they stand; and a value given to a name that says secret.
LOOKS = re.compile(
    r"-----BEGIN [A-Z ]*PRIVATE KEY-----\n[A-Za-z0-9+/=]{20}|AKIA[0-9A-Z]{16}|gh[pousr]_[A-Za-z0-9]{36}"
    r"|(?i:secret_key|api_key|passwd|password)\s*=\s*[\"'][^\"'{}$<> ]{12,}[\"']"
)


def committed():
    listed = subprocess.run(["git", "ls-files"], cwd=settings.BASE_DIR, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("no git repository here")
    return [Path(settings.BASE_DIR) / name for name in listed.stdout.splitlines()]


def test_no_secret_is_committed():
    found = []
    for path in committed():
        if path.suffix in {".png", ".gz", ".zip", ".po"} or not path.is_file() or "tests" in path.parts:
            continue
        found += [f"{path.name}: {match[0][:40]}" for match in LOOKS.finditer(path.read_text(errors="replace"))]
    assert found == []


def test_no_key_database_or_setting_of_a_machine_is_committed():
    wrong = {".pem", ".key", ".crt", ".sqlite3", ".env"}
    named = {"secret-key", ".env", "drystack.env"}
    assert [path.name for path in committed() if path.suffix in wrong or path.name in named] == []


@pytest.mark.parametrize(
    "line", ['SECRET_KEY = "django-insecure-abcdefgh"', "password='correct-horse-9'", "AKIA" + "A" * 16]
)
def test_the_looks_find_what_they_are_for(line):
    assert LOOKS.search(line)
