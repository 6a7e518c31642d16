"""How much a test tries: some in each run of the suite, more in the runs at length (`manage.py test --at-length`).

For what differs in number alone: examples drawn, yards planned, moments at which a process is killed.
"""

import os
from typing import TypeVar

T = TypeVar("T")

AT_LENGTH = "DRYSTACK_AT_LENGTH" in os.environ


def effort(usual: T, at_length: T) -> T:
    return at_length if AT_LENGTH else usual
