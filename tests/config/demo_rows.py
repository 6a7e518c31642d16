"""A quarter of the demo mill, built by a process of its own on a fixed day: prints of each model how many rows, and
their digest. Run as `python -m tests.config.demo_rows rising|falling` with DRYSTACK_DATA and PYTHONHASHSEED set."""

import hashlib
import json
import os
import sys
from datetime import UTC, date, datetime
from itertools import chain, product
from time import process_time
from typing import Any

DAY = date(2025, 11, 20)
NOW = datetime(2025, 11, 20, 11, 30, tzinfo=UTC)
EVERY = 4
# Drawn anew each time, so that nobody can guess them; and what a clock tells. Stacks that are split in a charge get
# tags drawn at random, too: a tag's code counts as its number, and nothing may hang on whether codes rise or fall.
SECRET = {"password", "token", "token_hash", "date_joined", "last_login", "seconds"}


def draw_tags(rising: bool) -> None:
    from yard.models import Tag, tagcode

    characters = tagcode.ALPHABET if rising else tagcode.ALPHABET[::-1]
    drawn = chain.from_iterable(product(characters, repeat=tagcode.LENGTH - 1))
    field = Tag._meta.get_field("code")
    field.default = lambda: tagcode.new_code(lambda _characters: next(drawn))
    field.__dict__.pop("_get_default", None)


def build_quarter() -> None:
    from django.apps import apps
    from django.conf import settings
    from django.core.management import call_command
    from django.utils import timezone

    from config.demo import build, charges, stacks

    timezone.now = lambda: NOW
    every = stacks.rows()
    stacks.rows = lambda: every[::EVERY]
    charges.plan_one = lambda *_given: None  # the plan from today may think for ten seconds by the clock
    settings.MIGRATION_MODULES = {app.label: None for app in apps.get_app_configs()}  # the tables as they are now
    call_command("migrate", run_syncdb=True, verbosity=0)
    call_command("load_species", verbosity=0)
    build.build(DAY, lambda said: print(round(process_time(), 1), said, file=sys.stderr))


def digests() -> dict[str, tuple[int, str]]:
    from django.apps import apps

    from yard.models import Tag

    numbered = {
        code: f"tag {number}" for number, code in enumerate(Tag.objects.order_by("pk").values_list("code", flat=True))
    }
    return {model._meta.label: _digest(model, numbered) for model in apps.get_models()}


def _digest(model: Any, numbered: dict[str, str]) -> tuple[int, str]:
    names = [field.attname for field in model._meta.concrete_fields if field.name not in SECRET]
    rows = list(model._base_manager.order_by("pk").values_list(*names))
    told = json.dumps(rows, default=str)
    for code, number in numbered.items():
        told = told.replace(code, number)
    return len(rows), hashlib.sha256(told.encode()).hexdigest()


if __name__ == "__main__":
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    django.setup()
    draw_tags(sys.argv[1] == "rising")
    build_quarter()
    print(json.dumps(digests()))
