"""Static files named by their content, so that they can be kept for ever and never go stale."""

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage

# fnmatch's `*` crosses slashes: everything below static/js, however deep.
OWN_MODULES = "js/*.js"


class HashedStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """Renames `import "./other.js"` inside our own modules too, and leaves other apps' scripts as they come.

    Django's switch rewrites imports in every script it finds, and stops at the ones that htmx brings: their comments
    hold import lines of files that aren't there. So the pattern is narrowed to our own folder.
    """

    support_js_module_import_aggregation = True
    _js_module_import_aggregation_patterns = (
        OWN_MODULES,
        HashedFilesMixin._js_module_import_aggregation_patterns[1],  # type: ignore[attr-defined]
    )
