"""Databases apart from the tests' own, for what drops tables, is killed or goes from one kind to the other."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings

KINDS = ["sqlite", "postgresql"]


@contextmanager
def fresh(kind: str, folder: Path, name: str) -> Iterator[dict[str, str]]:
    """The environment of a process on an empty database; PostgreSQL's needs DATABASE_URL to name a server."""
    folder.mkdir(parents=True, exist_ok=True)
    given = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    given |= {"DRYSTACK_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings", "DRYSTACK_DEBUG": "yes"}
    given |= {"DRYSTACK_NO_VENV": "1"}
    if kind == "sqlite":
        yield given
        return
    address = os.environ.get("DATABASE_URL", "")
    if not address.startswith("postgres"):
        pytest.skip("needs DATABASE_URL to name a PostgreSQL server")
    psycopg = pytest.importorskip("psycopg")
    database = f"drystack_{name}_{os.getpid()}"
    with psycopg.connect(address, autocommit=True) as server:
        server.execute(f"create database {database}")
        try:
            yield given | {"DATABASE_URL": urlsplit(address)._replace(path=f"/{database}").geturl()}
        finally:
            server.execute(f"drop database {database} with (force)")


def run(script: str, environment: dict[str, str]) -> Any:
    """What a script prints last, as JSON."""
    command = [sys.executable, "-c", script]
    done = subprocess.run(command, cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.strip().splitlines()[-1])


def manage(environment: dict[str, str], *words: str) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), *words]
    return subprocess.run(command, cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True, check=False)
