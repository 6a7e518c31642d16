"""Fixtures of the yard's tests."""

import pytest
from django.test import Client

from tests.factories import UserFactory


@pytest.fixture
def user(db):
    return UserFactory()


@pytest.fixture
def signed_in(user):
    """A browser of someone who is signed in."""
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client
