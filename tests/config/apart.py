"""Work in a process of its own, for scripts that are killed or that want their modules as new."""

import json
import os
import traceback
from collections.abc import Callable
from typing import Any


def apart(work: Callable[[], Any]) -> Any:
    """What `work` gives in a fork of this process, by way of JSON; None where that was killed.

    Raises RuntimeError where it failed, whose traceback is printed by then."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        try:
            with os.fdopen(writing, "w") as out:
                json.dump(work(), out)
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as told:
        answer = told.read()
    _pid, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return None
    if os.waitstatus_to_exitcode(status):
        raise RuntimeError("failed: see above")
    return json.loads(answer)
