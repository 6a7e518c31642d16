"""Species: filled from the packaged table, changed and added by the owner."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from yard import outlook
from yard.changes import Watched, keeps
from yard.models import Species, keptwords

FIGURES = tuple(
    name
    for name in (field.name for field in Species._meta.concrete_fields)
    if name not in {"id", "key", "name", "latin_name", "region", "sources", "is_own"}
)


@transaction.atomic
def load_species(*, by: Any = None) -> int:
    """Bring the book of species up to the packaged table; returns how many it wrote.

    Rows added or changed here are left alone, and so is their name when the table has the same one.
    """
    own = Species.objects.filter(is_own=True).values_list("key", "name")
    keys, names = {key for key, _name in own}, {name for _key, name in own}
    packaged = [
        fields for fields in outlook.book_species() if fields["key"] not in keys and fields["name"] not in names
    ]
    written = [name for name in packaged[0] if name != "key"] if packaged else []
    Species.objects.bulk_create(
        [Species(**fields) for fields in packaged],
        update_conflicts=True,
        unique_fields=["key"],
        update_fields=written,
    )
    return len(packaged)


@transaction.atomic
@keeps("species_changed", lambda species, **_given: _of_species(species), lambda row: ([row], [row]))
def keep_species(*, species: Species, by: Any, at: datetime) -> Species:
    """Save a species that the owner added or changed: each figure that differs now has the owner as its source.

    Its stacks' forecasts are forgotten, to be made anew.
    """
    before = Species.objects.filter(pk=species.pk).values(*FIGURES).first() or {}
    said = keptwords.SET_HERE % {"name": by, "day": timezone.localtime(at).date().isoformat()}
    changed = [name for name in FIGURES if getattr(species, name) != before.get(name)]
    mine = {name: {"text": said, "from_memory": False} for name in changed if getattr(species, name) not in (None, "")}
    species.sources = {**{name: one for name, one in species.sources.items() if name not in changed}, **mine}
    species.is_own = True
    species.save()
    outlook.forget(species=species)
    return species


def _of_species(species: Species) -> Watched:
    return Watched([], [Species.objects.filter(pk=species.pk)])
