"""Fixtures of all tests: a cheap hasher, no sockets but to this machine, photos in a temporary folder."""

import gc
import os
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.core.management.commands import flush
from django.core.signals import setting_changed
from django.dispatch import receiver
from django.utils import translation

from tests.config.databases import keep_migrated

# What is tested is the outcome: how long an example takes depends on the machine and what else it does.
hypothesis.settings.register_profile("outcome", deadline=None)
hypothesis.settings.load_profile("outcome")
# A browser is a machine of its own: now and then one stalls on a busy host. A true fault fails each time.
RERUNS = int(os.environ.get("DRYSTACK_RERUNS", "2"))
LOCAL = {"127.0.0.1", "::1", "localhost"}


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.get_closest_marker("browser") and not item.get_closest_marker("flaky"):
            item.add_marker(pytest.mark.flaky(reruns=RERUNS))


def pytest_collection_finish() -> None:
    """What is loaded by now stays: looked through for garbage again and again, it would take some 5 % of all time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


def pytest_sessionfinish() -> None:
    gc.unfreeze()


@pytest.fixture(autouse=True, scope="session")
def _only_local_sockets() -> Iterator[None]:
    """Refuse a connection to any other machine: a test that needs one is wrong."""
    real = socket.socket.connect

    def connect(self: socket.socket, address: Any) -> None:
        if isinstance(address, tuple) and address[0] not in LOCAL:
            raise RuntimeError(f"a test tried to reach {address[0]}")
        real(self, address)

    socket.socket.connect = connect  # type: ignore
    yield
    socket.socket.connect = real  # type: ignore


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A database for each process; SQLite's in a file, as in the yard: the one in memory refuses what comes while
    another thread writes."""
    from django.conf import settings

    base = settings.DATABASES["default"]
    if base["ENGINE"] == "django.db.backends.sqlite3":
        base.setdefault("TEST", {})["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """A copy is kept of the database as it is after its migrations: for `fresh` in tests/config/databases.py."""
    with django_db_blocker.unblock(), keep_migrated():
        yield


@pytest.fixture(scope="session", autouse=True)
def _flushed_but_for_what_migrations_made() -> None:
    """After a test that really commits, rows go; content types and permissions, the same for all, would only be made
    anew, which takes longer than many a test."""

    def sql_of_rows(style: Any, connection: Any, *, reset_sequences: bool = True, allow_cascade: bool = False) -> Any:
        tables = set(connection.introspection.django_table_names(only_existing=True, include_views=False))
        rows = sorted(tables - {"django_content_type", "auth_permission"})
        return connection.ops.sql_flush(style, rows, reset_sequences=reset_sequences, allow_cascade=allow_cascade)

    flush.sql_flush = sql_of_rows
    flush.emit_post_migrate_signal = lambda *_given, **_more: None


@pytest.fixture(autouse=True, scope="session")
def _changes_are_kept() -> Iterator[None]:
    """Each form that a test sends keeps what it changed, as tests/keeping.py says."""
    from django.test.client import ClientHandler

    from tests.keeping import watch

    real = ClientHandler.get_response
    ClientHandler.get_response = watch(real)  # type: ignore[method-assign]
    yield
    ClientHandler.get_response = real  # type: ignore[method-assign]


@receiver(setting_changed)
def forget_shell(setting: str, **_more: Any) -> None:
    """What the shell was drawn from is another one."""
    if setting in {"LANGUAGE_CODE", "LOCALE_PATHS", "STATIC_ROOT", "STORAGES", "TEMPLATES"}:
        from config import shell

        for drawn in (shell._offline_html, shell._shell, shell._script):
            drawn.cache_clear()


@pytest.fixture(autouse=True)
def _cheap_and_apart(settings: Any, tmp_path: Path) -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.MEDIA_ROOT = tmp_path / "photos"
    settings.BACKUPS = tmp_path / "backups"
    translation.deactivate()  # a page that an earlier test asked for in German left this thread in German


def skip_or_fail(reason: str) -> None:
    """Skip where something is missing on a developer's machine; in CI the same is a failure."""
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)
