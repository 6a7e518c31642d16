"""Every form keeps what it changed, or says why it keeps nothing; and who may take that back is who may do it.

That a form keeps what `tests/keeping.py` says is watched at every form that any test sends.
"""

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories import PlaceFactory, StackFactory, UserFactory
from tests.keeping import ANY, KEPT, NOT_KEPT, Seen, fault
from yard.actions import roles
from yard.actions.undoing import least_to_undo
from yard.changes.kinds import UNDONE, _kinds, kind_of
from yard.models import Stack

SENT = roles.BY_ANYBODY | roles.BY_HANDS | roles.BY_OPERATORS | roles.BY_OWNERS | roles.BY_STRANGERS
INSIDE = {"set_aside", "released", "kiln_dried"}
"""Kinds of actions that pages do inside others only."""


def test_each_form_says_what_it_keeps_or_why_it_keeps_nothing():
    """A new address that takes a form stands in the table of roles, and so here."""
    assert sorted([*KEPT, *ANY, *NOT_KEPT]) == sorted(SENT)


def test_each_kind_of_change_is_kept_by_some_form():
    told = {kind for kinds in KEPT.values() for kind in kinds.split()}
    assert told | INSIDE | {UNDONE} == set(_kinds)


def test_who_may_take_it_back_is_who_may_do_it():
    of_forms = [(name, kind, kind_of(kind)) for name, kinds in KEPT.items() for kind in kinds.split()]
    to_undo = {(name, kind): least_to_undo(found) for name, kind, found in of_forms if found.undone}
    assert to_undo == {(name, kind): roles.least_to_send(name) for name, kind in to_undo}


@pytest.mark.parametrize(
    ("name", "tables", "kinds", "said"),
    [
        ("stack_edit", {"yard_stack"}, set(), "wrote ['yard_stack'] and kept no change"),
        ("stack_edit", {"yard_stack"}, {"moved"}, "kept ['moved']"),
        ("a_new_one", {"yard_stack"}, set(), "kept no change"),
        ("stack_edit", {"yard_stack"}, {"corrected"}, ""),
        ("stack_edit", set(), set(), ""),
        ("me", {"yard_person"}, set(), ""),
    ],
)
def test_what_is_not_kept_is_found(name, tables, kinds, said):
    seen = Seen()
    seen.tables, seen.kinds = tables, kinds
    assert said in fault(name, seen) if said else fault(name, seen) == ""


@pytest.mark.django_db
def test_a_view_that_forgets_it_fails_its_test(monkeypatch):
    def forgetful(*, stacks, place, **_given):
        Stack.objects.filter(pk__in=[stack.pk for stack in stacks]).update(place=place)

    monkeypatch.setattr("yard.views.moves.move", forgetful)
    client, place = Client(), PlaceFactory()
    client.force_login(UserFactory())
    with pytest.raises(AssertionError, match=r"stack_move wrote .* and kept no change"):
        client.post(reverse("stack_move", args=[StackFactory().code]), {"place": place.pk})
