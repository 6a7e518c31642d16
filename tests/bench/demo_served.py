"""The demo mill, served by a process of its own as `manage.py serve` does, for benchmarks that drive a browser."""

import os
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.error import HTTPError, URLError

from django.conf import settings

from config.management.commands.demo import DEMO_DATA

PORT = 8477
KEY_OF_OWNER = """
from django.contrib.auth import get_user_model
from django.test import Client
client = Client()
client.force_login(get_user_model().objects.get(username="owner"), backend="django.contrib.auth.backends.ModelBackend")
print("KEY=" + client.cookies["sessionid"].value)
"""


@contextmanager
def served(data: str) -> Iterator[tuple[str, str]]:
    """A copy of today's demo mill: its address, and the key of its owner's session."""
    env = {**os.environ, "DRYSTACK_DATA": data, "DRYSTACK_TASKS": "worker"}
    manage = [sys.executable, "manage.py"]
    where: dict[str, Any] = {"cwd": settings.BASE_DIR, "env": env}
    subprocess.run([*manage, "demo", "--build-only"], check=True, capture_output=True, **where)
    shutil.copytree(DEMO_DATA, data, dirs_exist_ok=True)
    told = subprocess.run([*manage, "shell", "-c", KEY_OF_OWNER], check=True, capture_output=True, text=True, **where)
    server = subprocess.Popen([*manage, "serve", "--port", str(PORT)], stdout=subprocess.DEVNULL, **where)
    try:
        site = f"http://127.0.0.1:{PORT}"
        wait_for(f"{site}/probe")
        yield site, told.stdout.split("KEY=")[1].strip()
    finally:
        server.terminate()
        server.wait(30)


def wait_for(address: str) -> None:
    for _turn in range(120):
        try:
            urllib.request.urlopen(address, timeout=2)  # noqa: S310 (our own server)
            return
        except HTTPError:
            return
        except (URLError, TimeoutError):
            time.sleep(1)
    raise TimeoutError(f"{address} does not answer")
