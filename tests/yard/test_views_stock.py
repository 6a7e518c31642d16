"""The stock's page, prices, a stack's costs, and as what a stack left."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import SpeciesFactory, StackFactory
from tests.yard.queries import queries_of
from yard.models import CostRates, Event, Price, Stack

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


def words(answer, status=200):
    assert answer.status_code == status
    return " ".join(answer.content.decode().replace("\u202f", " ").split())


@pytest.fixture
def owner(signed_in, django_user_model):
    django_user_model.objects.update(is_staff=True)
    return signed_in


def test_an_empty_yard_says_what_to_do(signed_in):
    page = words(signed_in.get("/stock/"))
    assert "Nothing stands in the yard" in page
    assert "Nothing stood here in these months." in page


def test_prices_are_kept_and_the_stock_is_worth_them(owner):
    larch = SpeciesFactory(name="larch")
    StackFactory(species=larch)
    sent = {f"dry_{larch.pk}": "900", f"green_{larch.pk}": "310,5", "log_per_m3": "200"}
    assert owner.post("/stock/prices/", sent).url == "/stock/"
    price = Price.objects.get()
    assert (price.dry_per_m3, price.green_per_m3, CostRates.current().log_per_m3) == (900, 310.5, 200)
    page = words(owner.get("/stock/"))
    assert "worth 201 EUR" in page, ".648 m³ at 310.50"
    assert "has cost 130 EUR" in page


@pytest.mark.parametrize("price", ["-1", "much"])
def test_a_price_that_is_none_is_told_at_its_field_and_kept_as_typed(owner, price):
    wood = SpeciesFactory()
    StackFactory(species=wood)
    answer = owner.post("/stock/prices/", {f"dry_{wood.pk}": price})
    assert f'value="{price}"' in words(answer, 422)
    assert f"dry_{wood.pk}" in answer.context["form"].errors
    assert not Price.objects.exists()


def test_prices_are_the_owners(signed_in):
    assert signed_in.get("/stock/prices/").status_code == 403
    assert "Prices and costs" not in words(signed_in.get("/stock/"))


def test_a_stack_has_costs_of_its_own_and_logs(signed_in):
    stack = StackFactory()
    page = f"/stacks/{stack.code}/costs/"
    signed_in.post(page, {"log_per_m3": "250", "sawing_per_m3": "", "stacking_per_m3": "30", "round_m3": "1.2"})
    stack = Stack.objects.get()
    assert (stack.log_per_m3, stack.sawing_per_m3, stack.stacking_per_m3) == (250, None, 30)
    assert stack.round_m3_per_m3 == pytest.approx(1.2 / 0.648)
    assert Event.objects.get(kind=Event.Kind.CORRECTED).details["changes"]["log_per_m3"] == ["", "250"]
    assert "181 <small>EUR" in words(signed_in.get(page)), ".648 m³ at 280"
    signed_in.post(page, {"log_per_m3": "250", "stacking_per_m3": "30", "round_m3": "1.2"})
    assert Event.objects.filter(kind=Event.Kind.CORRECTED).count() == 1, "nothing was changed by the second"


def test_logs_smaller_than_the_stack_are_refused(signed_in):
    stack = StackFactory()
    answer = signed_in.post(f"/stacks/{stack.code}/costs/", {"round_m3": "0.5"})
    assert "its logs had more" in words(answer, 422)


def test_what_became_of_a_stack_is_kept_and_told(signed_in):
    stack = StackFactory()
    page = f"/stacks/{stack.code}/use/"
    signed_in.post(page, {"for_what": "Miller", "left_as": "sold", "sold_for": "700"})
    stack.refresh_from_db()
    assert (stack.left_as, stack.sold_for) == ("sold", 700)
    told = words(signed_in.get("/stock/"))
    assert "Sold" in told and "700" in told
    signed_in.post(page, {"put_back": "1"})
    stack.refresh_from_db()
    assert (stack.left_as, stack.sold_for, stack.used_at) == ("", None, None)


def test_a_price_means_sold_and_firewood_has_none(signed_in):
    one, other = StackFactory(), StackFactory()
    signed_in.post(f"/stacks/{one.code}/use/", {"for_what": "Miller", "sold_for": "700"})
    one.refresh_from_db()
    assert one.left_as == "sold"
    answer = signed_in.post(f"/stacks/{other.code}/use/", {"for_what": "x", "left_as": "firewood", "sold_for": "7"})
    assert "Only what was sold has a price" in words(answer, 422)


def test_the_pages_ask_as_often_for_many_stacks_as_for_few(owner):
    StackFactory(kiln_dried_on=TODAY)
    before = queries_of(owner, "/stock/"), queries_of(owner, "/stock/prices/")
    for number in range(12):
        StackFactory(kiln_dried_on=TODAY if number % 2 else None, cut_on=TODAY - timedelta(days=40 * number))
    assert (queries_of(owner, "/stock/"), queries_of(owner, "/stock/prices/")) == before


def test_the_months_of_one_wood_are_drawn(signed_in):
    oak = SpeciesFactory(name="oak")
    StackFactory(species=oak)
    StackFactory()
    assert "Over the year: oak" in words(signed_in.get(f"/stock/?species={oak.key}"))
    assert "Over the year: " not in words(signed_in.get("/stock/?species=nonsense"))
