"""The static files as `manage.py serve` serves them: collected into a folder, named by content, compressed."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from pathlib import Path

from django.core.management import call_command
from django.test import override_settings

IMPORT = re.compile(r"""(?:\bimport\s*\(?\s*|\bfrom\s*)["']([^"']+)["']""")
HASHED = re.compile(r"\.[0-9a-f]{12}\.\w+$")
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "config.static_storage.HashedStaticFilesStorage"},
}


@contextmanager
def collected_into(folder: Path) -> Iterator[Path]:
    with override_settings(STORAGES=STORAGES, STATIC_ROOT=folder):
        call_command("collectstatic", interactive=False, stdout=StringIO())
        yield folder


def imports(path: Path) -> list[str]:
    """What a module imports, as it names it."""
    code = re.sub(r"^\s*//.*$", "", path.read_text(), flags=re.MULTILINE)
    return IMPORT.findall(code)


def with_imports(path: Path) -> set[Path]:
    """A module and every module that it imports, by whatever way."""
    found, open_ends = set(), [path.resolve()]
    while open_ends:
        module = open_ends.pop()
        if module not in found:
            found.add(module)
            open_ends += [(module.parent / name).resolve() for name in imports(module)]
    return found


def sent_bytes(path: Path) -> int:
    """What goes over the air: WhiteNoise sends the compressed copy where there is one."""
    compressed = path.with_name(path.name + ".gz")
    return (compressed if compressed.is_file() else path).stat().st_size
