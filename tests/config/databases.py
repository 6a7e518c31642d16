"""Databases apart from the tests' own, for what drops tables, is killed or goes from one kind to the other."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.db import connection

KINDS = ["postgresql" if os.environ.get("DATABASE_URL", "").startswith("postgres") else "sqlite"]
"""What this run of the tests is on."""


@contextmanager
def keep_migrated() -> Iterator[None]:
    """Keep a copy of this process's test database, which has just been migrated: that takes seconds, a copy none."""
    name = connection.settings_dict["NAME"]
    connection.close()
    if not _is_for_tests():  # no test of this run asks for a database
        yield
        return
    if connection.vendor == "sqlite":
        shutil.copy(name, _migrated_file())
        yield
        return
    with _server() as server:
        server.execute(f"create database {name}_migrated template {name}")
    yield
    with _server() as server:
        server.execute(f"drop database {name}_migrated with (force)")


def _is_for_tests() -> bool:
    return Path(connection.settings_dict["NAME"]).name.startswith("test")


def _migrated_file() -> Path:
    return Path(connection.settings_dict["NAME"]).with_name("migrated.sqlite3")


@contextmanager
def _server() -> Iterator[Any]:
    psycopg = pytest.importorskip("psycopg")
    with psycopg.connect(os.environ["DATABASE_URL"], autocommit=True) as server:
        yield server


@contextmanager
def fresh(kind: str, folder: Path, name: str, *, migrated: bool = False) -> Iterator[dict[str, str]]:
    """The environment of a process on a database of its own, empty or with this version's tables; PostgreSQL's needs
    DATABASE_URL to name a server. A migrated one needs the test's fixture `django_db_setup`."""
    folder.mkdir(parents=True, exist_ok=True)
    given = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    given |= {"DRYSTACK_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings", "DRYSTACK_DEBUG": "yes"}
    given |= {"DRYSTACK_NO_VENV": "1"}
    is_copied = migrated and kind == connection.vendor and _is_for_tests()
    if kind == "sqlite":
        if is_copied:
            shutil.copy(_migrated_file(), folder / "drystack.sqlite3")
        elif migrated:
            manage(given, "migrate", "-v0").check_returncode()
        yield given
        return
    address = os.environ.get("DATABASE_URL", "")
    if not address.startswith("postgres"):
        pytest.skip("needs DATABASE_URL to name a PostgreSQL server")
    database = f"drystack_{name}_{os.getpid()}"
    template = f"template {connection.settings_dict['NAME']}_migrated" if is_copied else ""
    with _server() as server:
        server.execute(f"create database {database} {template}")
        try:
            given |= {"DATABASE_URL": urlsplit(address)._replace(path=f"/{database}").geturl()}
            if migrated and not is_copied:
                manage(given, "migrate", "-v0").check_returncode()
            yield given
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
