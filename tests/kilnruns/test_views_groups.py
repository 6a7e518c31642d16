"""Drying groups and the rules of sharing: seen by all, changed by owners."""

import pytest

from kilnruns.models import GroupMember, OwnGroup, PlanningRules
from tests.factories import SpeciesFactory, StackFactory
from yard.models import DryingGroup

pytestmark = pytest.mark.django_db

USUAL = {
    "thinnest_to_thickest": "75",
    "moisture_window_pct": "5",
    "smallest_fill": "60",
    "smallest_part": "15",
}


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def test_the_page_says_who_shares_a_charge_and_why(signed_in):
    StackFactory(species=SpeciesFactory(name="field maple", drying_group="medium_hardwood"), thickness_mm=32)
    text = words(signed_in.get("/setup/groups/"))
    assert "the thinnest is at least 75 % as thick as the thickest: beside 40 mm, 30 mm and more" in text
    assert "at most 5 points of moisture apart" in text
    assert "fills the kiln to at least 60 %" in text
    assert "Field maple" in text
    assert "32 mm" in text
    assert "T8-C2 up to 39 mm, T5-C1 above" in text


def test_it_asks_as_often_for_many_species_as_for_few(owner_in, django_assert_max_num_queries):
    def queries():
        with django_assert_max_num_queries(40) as counted:
            owner_in.get("/setup/groups/")
        return len(counted)

    few = queries()
    own = OwnGroup.objects.create(name="Mixed", base="softwood")
    for number in range(12):
        stack = StackFactory(species=SpeciesFactory(), thickness_mm=20 + number)
        GroupMember.objects.create(species=stack.species, own=own)
    assert queries() == few


def test_only_an_owner_is_offered_to_change_and_may(signed_in):
    wood, own = SpeciesFactory(), OwnGroup.objects.create(name="Mixed", base="softwood")
    assert "/setup/rules/" not in words(signed_in.get("/setup/groups/"))
    posts = ["/setup/rules/", "/setup/rules/usual/", "/setup/groups/new/", f"/setup/groups/{own.pk}/"]
    posts += [f"/setup/groups/{own.pk}/dissolve/", f"/setup/groups/species/{wood.key}/"]
    assert {signed_in.post(path, USUAL).status_code for path in posts} == {403}
    assert not PlanningRules.objects.exists()


def test_an_owner_changes_the_figures_and_puts_them_back(owner_in):
    assert owner_in.get("/setup/rules/").context["form"]["smallest_fill"].value() == "60"
    owner_in.post("/setup/rules/", {**USUAL, "thinnest_to_thickest": "82,5", "smallest_fill": "70"})
    rules = PlanningRules.current()
    assert (rules.thinnest_to_thickest, rules.smallest_fill) == (0.825, 0.7)
    assert "70 %" in words(owner_in.get("/setup/groups/"))
    rules.loading_days = [1]
    rules.save()
    owner_in.post("/setup/rules/usual/")
    assert PlanningRules.current().are_usual
    assert PlanningRules.current().loading_days == [1]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("thinnest_to_thickest", "49"),
        ("thinnest_to_thickest", "101"),
        ("moisture_window_pct", "1"),
        ("moisture_window_pct", "nan"),
        ("smallest_fill", "100"),
        ("smallest_part", "2"),
        ("smallest_part", ""),
    ],
)
def test_a_figure_out_of_its_range_is_refused_and_stays_as_typed(owner_in, field, value):
    response = owner_in.post("/setup/rules/", {**USUAL, field: value})
    form = response.context["form"]
    assert response.status_code == 422
    assert list(form.errors) == [field]
    assert form[field].value() == value
    assert not PlanningRules.objects.exists()


def test_an_owner_makes_a_group_moves_a_species_there_and_dissolves_it(owner_in):
    wood = SpeciesFactory(name="wild pear", drying_group="slow_hardwood")
    owner_in.post("/setup/groups/new/", {"name": "Fruit wood", "base": "medium_hardwood"})
    own = OwnGroup.objects.get()
    owner_in.post(f"/setup/groups/species/{wood.key}/", {"group": f"own-{own.pk}"})
    text = words(owner_in.get("/setup/groups/"))
    assert "moved here; in the book: slow hardwood" in text
    assert "Fruit wood" in text
    form = owner_in.get(f"/setup/groups/species/{wood.key}/").context["form"]
    assert form["group"].value() == f"own-{own.pk}"
    owner_in.post(f"/setup/groups/{own.pk}/dissolve/")
    assert not GroupMember.objects.exists()
    assert "moved here" not in words(owner_in.get("/setup/groups/"))


def test_moving_a_species_back_to_its_own_group_leaves_no_trace(owner_in):
    wood = SpeciesFactory(drying_group="softwood")
    owner_in.post(f"/setup/groups/species/{wood.key}/", {"group": "light_hardwood"})
    assert GroupMember.objects.get().book == "light_hardwood"
    owner_in.post(f"/setup/groups/species/{wood.key}/", {"group": "softwood"})
    assert not GroupMember.objects.exists()


def test_a_group_that_is_not_there_is_refused(owner_in):
    wood = SpeciesFactory()
    assert owner_in.post(f"/setup/groups/species/{wood.key}/", {"group": "own-99"}).status_code == 422
    assert not GroupMember.objects.exists()


@pytest.mark.parametrize("name", ["", "Softwood", "light_hardwood", "mixed", "at@home", "x" * 41])
def test_a_name_that_plans_could_not_tell_apart_is_refused(owner_in, name):
    OwnGroup.objects.create(name="Mixed", base="softwood")
    response = owner_in.post("/setup/groups/new/", {"name": name, "base": "softwood"})
    assert response.status_code == 422
    assert response.context["form"]["name"].value() == name
    assert OwnGroup.objects.count() == 1


def test_a_group_is_renamed(owner_in):
    own = OwnGroup.objects.create(name="Mixed", base="softwood")
    owner_in.post(f"/setup/groups/{own.pk}/", {"name": "mixed", "base": DryingGroup.SLOW_HARDWOOD})
    own.refresh_from_db()
    assert (own.name, own.base) == ("mixed", "slow_hardwood")
