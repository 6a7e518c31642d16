"""How much a test tries: some in each run of the suite, more in the runs at length (`manage.py test --at-length`).

By number: examples drawn, yards planned, moments at which a process is killed. By way: what takes ten seconds and more.
"""

import os
from typing import TypeVar

import pytest

T = TypeVar("T")

AT_LENGTH = "DRYSTACK_AT_LENGTH" in os.environ
not_in_each_run = pytest.mark.skipif(
    not AT_LENGTH and "DATABASE_URL" not in os.environ, reason="takes long: runs with --at-length, and on PostgreSQL"
)
"""For one more way, slow by itself, of what a shorter test beside it tries in each run."""


def effort(usual: T, at_length: T) -> T:
    return at_length if AT_LENGTH else usual
