"""Static files named by their content, so that they can be kept for ever and never go stale."""

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage

# fnmatch's `*` crosses slashes: everything below static/js, however deep.
OWN_MODULES = "js/*.js"
DECODER = "vendor/qr/*.js"
_IMPORTS = HashedFilesMixin._js_module_import_aggregation_patterns[1]  # type: ignore[attr-defined]


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
