"""Each form that is sent says where to. One that does not is sent to the page's address with its "#main", where whoever
skipped to the content is: the answer then begins there, and not in what is wrong or was kept."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client

from tests.factories import UserFactory

FORM = re.compile(r'<form method="post"[^>]*>')
TEMPLATES = sorted((Path(settings.BASE_DIR) / "templates").rglob("*.html"))


def test_each_form_that_is_sent_says_where_to() -> None:
    forms = [(path.name, form) for path in TEMPLATES for form in FORM.findall(path.read_text())]
    assert len(forms) > 100
    assert [one for one in forms if ' action="' not in one[1]] == []


@pytest.mark.django_db
def test_it_is_the_address_with_all_that_was_asked(client: Client) -> None:
    client.force_login(UserFactory(is_staff=True), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get("/me/?next=/yard/%3Ffirst%3Ddue").content.decode()
    assert '<form method="post" action="/me/?next=/yard/%3Ffirst%3Ddue"' in page
