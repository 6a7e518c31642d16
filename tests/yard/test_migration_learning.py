"""Forecasts from before the learning teach by what they rested on."""

from datetime import UTC, datetime, timedelta
from importlib import import_module
from pathlib import Path

import pytest
from django.apps import apps

from tests.factories import KilnPlaceFactory, OutlookFactory, ReadingFactory
from yard import migrations
from yard.models import Outlook, Stay

pytestmark = pytest.mark.django_db


def test_readings_and_place_of_older_forecasts_are_filled_in():
    read, unread = OutlookFactory().stack, OutlookFactory().stack
    for days in range(3):
        ReadingFactory(stack=read, taken_at=datetime(2025, 6, 1, tzinfo=UTC) + timedelta(days=days))
    ReadingFactory(stack=read, voided_at=datetime(2025, 7, 1, tzinfo=UTC), void_reason="Mistyped")
    Stay.objects.create(stack=read, place=KilnPlaceFactory(), since=datetime(2025, 8, 1, tzinfo=UTC))
    (file,) = Path(migrations.__path__[0]).glob("*_learning.py")  # its number may change
    import_module(f"yard.migrations.{file.stem}").fill(apps, None)
    assert {row.stack: (row.reading_count, row.dried_at) for row in Outlook.objects.all()} == {
        read: (3, Stay.objects.filter(stack=read).first().place),
        unread: (0, unread.place),
    }
