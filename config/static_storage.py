"""Static files named by their content, so that they can be kept for ever and never go stale."""

from collections.abc import Iterator
from fnmatch import fnmatch
from typing import Any

import minify
from django.contrib.staticfiles.storage import HashedFilesMixin
from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from whitenoise.storage import CompressedManifestStaticFilesStorage

# fnmatch's `*` crosses slashes: everything below static/js, however deep.
OWN_MODULES = "js/*.js"
DECODER = "vendor/qr/*.js"
_IMPORTS = HashedFilesMixin._js_module_import_aggregation_patterns[1]  # type: ignore[attr-defined]


def smaller(script: str) -> str:
    """The same script for browsers: without comments and blanks, local names short."""
    return str(minify.string("application/javascript", script))


class Smaller:
    """A storage whose scripts come small. tests/pwa/test_requests.py runs each of them as it is sent."""

    def __init__(self, storage: Storage) -> None:
        self.storage = storage

    def open(self, name: str) -> ContentFile:
        with self.storage.open(name) as file:
            return ContentFile(smaller(file.read().decode()).encode())


class HashedStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """Renames `import "./other.js"` inside our own modules too, and leaves other apps' scripts as they come.

    Django's switch rewrites imports in every script it finds, and stops at the ones that htmx brings: their comments
    hold import lines of files that aren't there. So its pattern is given our own folder and the decoder's instead.
    """

    patterns = (
        *HashedFilesMixin.patterns,
        (OWN_MODULES, _IMPORTS),
        (DECODER, _IMPORTS),
    )
    max_post_process_passes = 20  # a chain of imports is renamed by one link a pass

    def post_process(self, paths: dict[str, Any], dry_run: bool = False, **options: Any) -> Iterator[Any]:
        """As Django does it, our own modules and the decoder made small."""
        found = {
            name: (Smaller(storage), path) if is_module(name) else (storage, path)
            for name, (storage, path) in paths.items()
        }
        return super().post_process(found, dry_run, **options)


def is_module(name: str) -> bool:
    return fnmatch(name, OWN_MODULES) or fnmatch(name, DECODER)
