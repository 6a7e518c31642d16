"""The secret key: from the environment, else one made once and kept beside the data."""

import os
from pathlib import Path

from django.core.management.utils import get_random_secret_key


def secret_key(data: Path) -> str:
    """Return the key in `data/secret-key`, made at the first call with owner-only rights.

    Two processes may start at once: the file is created exclusively, and whoever comes second reads it.
    """
    path = data / "secret-key"
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text()
    with os.fdopen(handle, "w") as file:
        key = get_random_secret_key()
        file.write(key)
    return key
