"""Needs and what could serve them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import OutlookFactory, SpeciesFactory, StackFactory
from tests.yard.queries import queries_of
from yard.models import Need

pytestmark = pytest.mark.django_db


def day(ahead):
    return timezone.localdate() + timedelta(days=ahead)


@pytest.fixture
def ash():
    return SpeciesFactory(name="ash")


def need(species, **kwargs):
    fields = {"name": "Floor", "thickness_mm": 24, "volume_m3": 1, "target_pct": 8, "wanted_by": day(90), **kwargs}
    return Need.objects.create(species=species, **fields)


def data(wood, **kwargs):
    wanted = {"name": "Floor", "species": wood.pk, "thickness_mm": "24", "volume_m3": "1,2", "target_pct": "8"}
    return wanted | {"wanted_by": day(90).isoformat()} | kwargs


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_a_need_is_written_down(signed_in, ash):
    answer = signed_in.post("/needs/new/", data(ash))
    row = Need.objects.get()
    assert answer.url == f"/needs/{row.pk}/"
    assert (row.volume_m3, row.thickness_mm, row.species) == (1.2, 24, ash)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "This field is required"),
        ({"species": ""}, "This field is required"),
        ({"volume_m3": "0"}, "greater than or equal to 0.001"),
        ({"volume_m3": "much"}, "Enter a number"),
        ({"thickness_mm": "2400"}, "is not between"),
        ({"target_pct": "50"}, "less than or equal to 30"),
        ({"wanted_by": "soon"}, "valid date"),
    ],
)
def test_what_nobody_can_want_is_refused_at_its_field(signed_in, ash, change, words):
    answer = signed_in.post("/needs/new/", data(ash, **change))
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert not Need.objects.exists()


def test_stacks_of_the_species_that_are_thick_enough_when_dry_could_serve_nearest_first(signed_in, ash):
    # 27 mm, shrinking 8 % tangentially to oven-dry, measures 25.4 mm at 8 % (Wood Handbook eq. 4-7)
    later, ready = StackFactory(species=ash), StackFactory(species=ash)
    OutlookFactory(stack=later, ready_p50=day(40))
    OutlookFactory(stack=ready, ready_p50=day(-4))
    thin, other = StackFactory(species=ash, thickness_mm=25), StackFactory()
    promised = StackFactory(species=ash, set_aside_for="another floor")
    text = text_of(signed_in.get(f"/needs/{need(ash).pk}/"))
    assert text.index(f"/stacks/{ready.code}/") < text.index(f"/stacks/{later.code}/")
    for stack in (thin, other, promised):
        assert f"/stacks/{stack.code}/" not in text
    assert "1.30 m³ in the yard could serve" in text


@pytest.mark.parametrize(("thickness_mm", "serves"), [(25.4, True), (25.5, False)])
def test_the_bound_is_the_dry_thickness_of_boards_that_shrink_most(signed_in, ash, thickness_mm, serves):
    stack = StackFactory(species=ash)  # 27 (1 - 0.08 (30 - 8) / 30) = 25.42 mm
    text = text_of(signed_in.get(f"/needs/{need(ash, thickness_mm=thickness_mm).pk}/"))
    assert (f"/stacks/{stack.code}/" in text) is serves


def test_the_list_says_whether_there_is_enough(signed_in, ash):
    StackFactory(species=ash)  # 0.65 m³
    need(ash, volume_m3=0.5)
    assert "enough in the yard" in text_of(signed_in.get("/needs/"))
    need(ash, volume_m3=2)
    assert "not enough in the yard" in text_of(signed_in.get("/needs/"))


def test_a_need_is_changed(signed_in, ash):
    row = need(ash)
    signed_in.post(f"/needs/{row.pk}/", data(ash, volume_m3="3"))
    row.refresh_from_db()
    assert row.volume_m3 == 3
    answer = signed_in.post(f"/needs/{row.pk}/", data(ash, volume_m3="-3"))
    assert answer.status_code == 422


def test_a_met_need_leaves_the_list_and_can_be_wanted_again(signed_in, ash):
    row = need(ash, name="Window frames")
    assert signed_in.post(f"/needs/{row.pk}/met/").url == "/needs/"
    assert not Need.objects.open().exists()
    text = text_of(signed_in.get("/needs/"))
    assert "Nothing is wanted" in text
    assert "Met lately" in text
    signed_in.post(f"/needs/{row.pk}/met/", {"again": "1"})
    assert Need.objects.open().get() == row


def test_met_is_posted_not_fetched(signed_in, ash):
    assert signed_in.get(f"/needs/{need(ash).pk}/met/").status_code == 405


def test_no_such_need_is_not_found(signed_in):
    assert signed_in.get("/needs/77/").status_code == 404
    assert signed_in.post("/needs/77/met/").status_code == 404


def test_three_and_thirty_needs_and_stacks_take_the_same_queries(signed_in, ash):
    def more(count):
        for _number in range(count):
            OutlookFactory(stack=StackFactory(species=ash))
            need(ash)

    more(3)
    few, row = queries_of(signed_in, "/needs/"), need(ash)
    one = queries_of(signed_in, f"/needs/{row.pk}/")
    more(27)
    assert queries_of(signed_in, "/needs/") == few
    assert queries_of(signed_in, f"/needs/{row.pk}/") == one
