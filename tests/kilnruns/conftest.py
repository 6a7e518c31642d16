"""Fixtures of the kilns' tests: who is signed in."""

import pytest
from django.test import Client

from tests.factories import UserFactory


def browser_of(user):
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def user(db):
    return UserFactory()


@pytest.fixture
def owner(db):
    return UserFactory(is_staff=True)


@pytest.fixture
def signed_in(user):
    """A browser of someone who is signed in."""
    return browser_of(user)


@pytest.fixture
def owner_in(owner):
    """A browser of an owner who is signed in."""
    return browser_of(owner)
