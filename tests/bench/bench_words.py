"""Every screen of the demo mill in a language of brackets: what it says outside of them never went through gettext.

In a database of its own. Left out is what people typed, the language that a source is quoted in, and sheets' own words.
"""

import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.contrib.auth import get_user_model
from django.db.models import CharField, TextField
from django.test import Client, override_settings
from django.test.utils import setup_databases, teardown_databases

from config.words.collecting import collect
from tests.bench.figure import Figure
from tests.pseudo import bare_words, write_into

NAMED = {"Drystack", *(name for _code, name in settings.LANGUAGES)}


def figures() -> Iterator[Figure]:
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        yield from _walked()
    finally:
        teardown_databases(databases, verbosity=0)


def _walked() -> Iterator[Figure]:
    from tests.browser.test_every_screen import calculators, finds, furnish, histories, papers, screens, ways

    furnish()
    client = Client()
    owner = get_user_model().objects.get(username="owner")
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    data = sorted(_typed() | NAMED, key=len, reverse=True)
    addresses = [*screens(), *calculators(), *ways(), *finds(), *papers(), *histories(), "/offline"]
    bare: set[str] = set()
    with tempfile.TemporaryDirectory() as folder:
        write_into(Path(folder), collect())
        with override_settings(LOCALE_PATHS=[folder]):
            for address in addresses:
                found = bare_words(client.get(address, follow=True).content.decode(), data) - bare
                for text in sorted(found):
                    print(f"  {address}: {text[:100]}")
                bare |= found
    yield Figure(f"texts of {len(addresses)} pages that are not told by gettext", len(bare), "texts", "0", not bare)


def _typed() -> set[str]:
    """What is in the rows as somebody typed it."""
    found: set[str] = set()
    for model in apps.get_models():
        if model._meta.app_label in ("yard", "kilnruns", "auth"):
            for field in model._meta.fields:
                if isinstance(field, CharField | TextField) and not field.choices:
                    values = model._default_manager.values_list(field.name, flat=True).distinct()
                    found |= {line for value in values if value for line in str(value).splitlines() if len(line) > 2}
    return found
