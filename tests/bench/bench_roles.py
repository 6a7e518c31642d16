"""Each role's walk through all screens of a quarter of the demo mill: what was shown and then refused.

In a database of its own: SQLite in memory, or beside the one that DATABASE_URL names.
"""

from collections.abc import Iterator
from unittest.mock import patch

from django.test.utils import override_settings, setup_databases, teardown_databases

from tests.bench.figure import Figure


def figures() -> Iterator[Figure]:
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        with override_settings(ALLOWED_HOSTS=["testserver"]):
            yield from _walked()
    finally:
        teardown_databases(databases, verbosity=0)


def _walked() -> Iterator[Figure]:
    from config.demo import in_hand, stacks
    from tests.browser.test_every_screen import EVERY, furnish, screens
    from tests.config.test_roles import client_of
    from tests.config.walking import Walk, name_of
    from yard.actions.roles import RANKS, Role, may_see

    rows = stacks.rows()
    with patch.object(stacks, "rows", lambda: rows[::EVERY]), patch.object(in_hand, "begin", lambda *_given: None):
        furnish()
    for role in RANKS:
        begin = ["/", *(one for one in screens() if name_of(one) != "tag" and may_see(role, name_of(one)))]
        walk = Walk(client_of(role), begin)
        walk.go()
        for one in sorted(walk.refused):
            print(one)
        shown = f"{sum(walk.looked.values())} pages, {len(walk.sent)} forms"
        yield Figure(f"{role}: refused of {shown}", len(walk.refused), "links and forms", "none", not walk.refused)
        if role in (Role.GUEST, Role.HAND):
            yield Figure(f"{role}: pages with money", len(walk.money), "pages", "none", not walk.money)
