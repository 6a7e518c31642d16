"""The worker lets the database know how large its tables are."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import override_settings
from django.utils import timezone

from config.management.commands import worker
from config.table_statistics import ROWS, analyse
from tests.factories import StackFactory
from yard.models import Stack

only_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL's autovacuum does it by itself")


@only_sqlite
@pytest.mark.django_db
def test_sqlite_knows_each_list_index_afterwards() -> None:
    StackFactory.create_batch(3)
    analyse(at=timezone.now())
    with connection.cursor() as cursor:
        cursor.execute("SELECT idx, stat FROM sqlite_stat1 WHERE tbl = 'yard_stack'")
        known = dict(cursor.fetchall())
        cursor.execute("PRAGMA analysis_limit")
        assert cursor.fetchone() == (ROWS,)
    empty = ("stack_dried", "stack_joined", "stack_split")
    assert {one.name for one in Stack._meta.indexes if one.name not in empty} <= set(known)
    assert all(re.match(r"3\b", stat) for stat in known.values())


def test_each_worker_does_it_when_it_begins_and_daily(monkeypatch: pytest.MonkeyPatch) -> None:
    begun: dict[Any, float] = {}
    monkeypatch.setattr(worker, "repeated", lambda act, seconds: begun.update({act: seconds}))
    monkeypatch.setattr(worker, "call_command", lambda *_names, **_options: None)
    monkeypatch.setattr(worker.os, "nice", lambda _by: None)
    monkeypatch.setenv(worker.WORKER_NAME, "tried out")
    with override_settings(TASKS_RUN="worker"):
        worker.Command().handle(with_parent=False)
    assert begun[analyse] == 24 * 3600
