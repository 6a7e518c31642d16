"""How many queries a page takes."""

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext


def queries_of(client: Client, path: str) -> int:
    """Fetch a page, which must be found, and count its queries."""
    with CaptureQueriesContext(connection) as caught:
        assert client.get(path).status_code == 200
    return len(caught)
