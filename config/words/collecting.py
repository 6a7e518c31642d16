"""Every text that goes through gettext, found in Python and in templates."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from django.conf import settings
from django.utils.translation.template import templatize

FOLDERS = ("config", "kilnruns", "yard", "templates")
TEMPLATES = frozenset({".html", ".txt", ".js"})
SIGNS = ("gettext", "i18n", "_(")  # without one of them there is nothing to find
ONE, CONTEXT = None, ((1, "c"), 2)
MANY, MANY_IN_CONTEXT = (1, 2), ((1, "c"), 2, 3)
KEYWORDS: dict[str, Any] = {
    **dict.fromkeys(("_", "gettext", "gettext_lazy", "gettext_noop", "lazy"), ONE),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), MANY),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), CONTEXT),
    **dict.fromkeys(("npgettext", "npgettext_lazy"), MANY_IN_CONTEXT),
}


def collect() -> Catalog:
    """All texts, once each, without translations."""
    found = Catalog(charset="utf-8", fuzzy=False)
    for path in sources():
        for text, context in texts_of(path):
            found.add(text, context=context)
    return found


def sources() -> list[Path]:
    root = Path(settings.BASE_DIR)
    files = [path for folder in FOLDERS for path in (root / folder).rglob("*")]
    return sorted(path for path in files if path.suffix == ".py" or path.suffix in TEMPLATES)


def texts_of(path: Path) -> Iterator[tuple[Any, str | None]]:
    """Text (one, or singular and plural) and context, where it has one."""
    source = path.read_text(encoding="utf-8")
    if not any(sign in source for sign in SIGNS):
        return
    code = source if path.suffix == ".py" else as_python(source)
    for _line, text, _comments, context in extract("python", BytesIO(code.encode()), KEYWORDS):
        yield text, context


def as_python(template: str) -> str:
    """Django makes calls of gettext of a template's tags; all else is blanked out. Its lines' indents mean nothing."""
    return "\n".join(line.strip() for line in templatize(template).splitlines())
