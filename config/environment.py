"""Typed readers of environment variables; a bad value stops the start with its name and what is wanted."""

import os
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured


def text(name: str, default: str = "") -> str:
    return os.environ.get(name, default).strip()


def flag(name: str, default: bool) -> bool:
    """Read yes/no. Raises ImproperlyConfigured for anything else."""
    value = text(name).lower()
    if not value:
        return default
    if value in {"1", "true", "yes", "on"}:
        return True
    if value in {"0", "false", "no", "off"}:
        return False
    raise ImproperlyConfigured(f"{name} is {value!r}; write yes or no")


def choice(name: str, known: tuple[str, ...]) -> str:
    """Read one of the known words, the first where none is set. Raises ImproperlyConfigured for anything else."""
    value = text(name, known[0]).lower() or known[0]
    if value not in known:
        raise ImproperlyConfigured(f"{name} is {value!r}; write {' or '.join(known)}")
    return value


def words(name: str, default: tuple[str, ...] = ()) -> list[str]:
    """Read a comma-separated list."""
    return [word.strip() for word in text(name).split(",") if word.strip()] or list(default)


def folder(name: str, default: Path) -> Path:
    """Read a folder's path and make the folder. Raises ImproperlyConfigured where it can't be made."""
    path = Path(text(name) or default).expanduser().resolve()
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ImproperlyConfigured(f"{name}: the folder {path} can't be made ({error})") from error
    return path
