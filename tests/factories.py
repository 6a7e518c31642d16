"""Rows on demand for the tests of both apps. What they say is invented."""

from datetime import UTC, date, datetime, time
from typing import Any

import factory
from django.contrib.auth import get_user_model
from factory.django import DjangoModelFactory

from yard import models

PASSWORD = "sawdust and shavings"


class UserFactory(DjangoModelFactory):
    class Meta:
        model = get_user_model()
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"sawyer{n}")
    password = factory.django.Password(PASSWORD)


class SpeciesFactory(DjangoModelFactory):
    """A middling softwood."""

    class Meta:
        model = models.Species

    key = factory.Sequence(lambda n: f"testwood-{n}")
    name = factory.Sequence(lambda n: f"Testwood {n}")
    wood_class = models.WoodClass.SOFTWOOD
    drying_group = models.DryingGroup.SOFTWOOD
    basic_density_kg_m3 = 400
    green_heartwood_pct = 40
    green_sapwood_pct = 120
    shrinkage_radial_pct = 4
    shrinkage_tangential_pct = 8
    shrinkage_volumetric_pct = 12


class PlaceFactory(DjangoModelFactory):
    """A roofed shed in a mild climate."""

    class Meta:
        model = models.Place

    name = factory.Sequence(lambda n: f"Shed {n}")
    kind = models.PlaceKind.ROOFED_SHED
    temperatures_c = [0, 1, 5, 9, 14, 17, 19, 18, 14, 9, 4, 1]
    humidities_pct = [86, 82, 77, 71, 70, 71, 71, 73, 78, 83, 87, 88]


class KilnPlaceFactory(PlaceFactory):
    name = factory.Sequence(lambda n: f"Kiln {n}")
    kind = models.PlaceKind.KILN


class TagFactory(DjangoModelFactory):
    """A blank tag."""

    class Meta:
        model = models.Tag


class StackFactory(DjangoModelFactory):
    """A tagged stack in a shed, with its first stay and 40 boards of 4 m x 150 mm.

    `lines=[(length_mm, width_mm, count), ...]` gives another tally.
    """

    class Meta:
        model = models.Stack
        skip_postgeneration_save = True

    code = factory.LazyFunction(models.tagcode.new_code)
    species = factory.SubFactory(SpeciesFactory)
    place = factory.SubFactory(PlaceFactory)
    thickness_mm = 27
    cut_on = date(2025, 4, 3)

    @factory.post_generation
    def lines(self: Any, create: bool, extracted: Any, **kwargs: Any) -> None:
        for length_mm, width_mm, count in extracted if extracted is not None else [(4000, 150, 40)]:
            models.TallyLine.objects.create(stack=self, length_mm=length_mm, width_mm=width_mm, count=count)

    @factory.post_generation
    def tag(self: Any, create: bool, extracted: Any, **kwargs: Any) -> None:
        models.Tag.objects.create(code=self.code, stack=self)
        since = datetime.combine(self.cut_on, time(12), tzinfo=UTC)
        models.Stay.objects.create(stack=self, place=self.place, since=since)


class BoardFactory(DjangoModelFactory):
    """A board with a tag of its own."""

    class Meta:
        model = models.Board
        skip_postgeneration_save = True

    stack = factory.SubFactory(StackFactory)
    code = factory.LazyFunction(models.tagcode.new_code)
    length_mm = 3200
    width_mm = 420

    @factory.post_generation
    def tag(self: Any, create: bool, extracted: Any, **kwargs: Any) -> None:
        models.Tag.objects.create(code=self.code, board=self)


class ReadingFactory(DjangoModelFactory):
    """Three pin values."""

    class Meta:
        model = models.Reading

    stack = factory.SubFactory(StackFactory)
    method = models.Method.PINS
    taken_at = datetime(2025, 6, 1, 9, tzinfo=UTC)
    wood_temperature_c = 14
    raw = [24.1, 22.6, 25.0]
    corrected_pct = factory.LazyAttribute(lambda reading: list(reading.raw))
    moisture_pct = factory.LazyAttribute(lambda reading: sum(reading.corrected_pct) / len(reading.corrected_pct))


class OutlookFactory(DjangoModelFactory):
    """A forecast from 60 % on 3 April to 20 % by mid June 2025."""

    class Meta:
        model = models.Outlook

    stack = factory.SubFactory(StackFactory)
    as_of = date(2025, 4, 3)
    ready_p10 = date(2025, 6, 1)
    ready_p50 = date(2025, 6, 15)
    ready_p90 = date(2025, 7, 10)
    reachable_pct = 13
    curve = {
        "day": [date(2025, 4, 3).toordinal(), date(2025, 6, 15).toordinal(), date(2026, 4, 3).toordinal()],
        "p10": [55, 18, 13],
        "p50": [60, 20, 14],
        "p90": [65, 23, 15],
    }
    chance = [[date(2025, 6, 1).toordinal(), 0.1], [date(2025, 6, 15).toordinal(), 0.5]]
    rate_log_mean = 0
    rate_log_sd = 0.4


def want(
    *, species: models.Species, thickness_mm: float, volume_m3: float, unit: str = "m3", **fields: Any
) -> models.Need:
    """A need of one line; `volume_m3` is its quantity in whatever unit."""
    need = models.Need.objects.create(**{"name": "Floor", **fields})
    line = models.NeedLine.objects.create(need=need, thickness_mm=thickness_mm, quantity=volume_m3, unit=unit)
    line.species.set([species])
    return need
