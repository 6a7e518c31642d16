"""A kiln without a finished run: first an easy charge, and an owner may overrule."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.models import Fixing
from kilnruns.planning import propose
from kilnruns.planning.case import candidates
from kilnruns.planning.days import work_days
from kilnruns.planning.first_charge import THICKEST_MM, low_risk
from kilnruns.planning.fixings import clashes_of
from kilnruns.planning.groups import Groups
from kilnruns.templatetags.reasons import clash_sentence
from tests.factories import SpeciesFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack, today
from tests.kilnruns.test_planning_rules import FULL, codes, drying

pytestmark = pytest.mark.django_db


@pytest.fixture
def woods(db):
    """Easy pine that is worth little, dear pine, thick pine and slow oak: a full charge of each."""
    pine = SpeciesFactory(drying_group="softwood")
    oak = SpeciesFactory(drying_group="slow_hardwood", wood_class="hardwood")
    return {
        "easy": drying(species=pine, lines=FULL, value_per_m3=300),
        "dear": drying(species=pine, lines=FULL, value_per_m3=2000),
        "thick": drying(species=pine, lines=FULL, thickness_mm=THICKEST_MM + 10, value_per_m3=300),
        "slow": drying(species=oak, lines=FULL, value_per_m3=900),
    }


def planned(**kwargs):
    return propose(first_day=today(), seconds=2, **kwargs)


def inside(draft):
    return {code for charge in draft.charges for code in codes(charge)}


def reasons(draft):
    return {one.code: one.why for one in draft.reasons}


def test_low_risk_is_easy_thin_and_not_dear(woods):
    assert low_risk(candidates(), Groups.read()) == {woods["easy"].code}


def test_a_kiln_not_yet_known_is_offered_an_easy_charge_first(woods):
    kiln = KilnFactory(trusted=False)
    draft = planned()
    assert inside(draft) == {woods["easy"].code}
    assert draft.charges[0].extra["first"]
    left = reasons(draft)
    assert {left[woods[name].code] for name in ("dear", "thick", "slow")} == {"first_charge"}
    assert next(one for one in draft.reasons if one.why == "first_charge").figures == {"kiln": str(kiln.pk)}
    assert draft.notes["unknown"] == [{"kiln": kiln.pk, "easy": 1, "ahead": False}]


def test_an_owner_overrules_it(woods):
    KilnFactory(trusted=True)
    draft = planned()
    assert "first_charge" not in reasons(draft).values()
    assert inside(draft) > {woods["easy"].code}
    assert draft.notes["unknown"] == []
    assert not any(one.extra["first"] for one in draft.charges)


def test_a_finished_run_makes_a_kiln_known(woods):
    kiln = KilnFactory(trusted=False)
    begun = timezone.now() - timedelta(days=30)
    charge_of(ready_stack(), kiln=kiln, start_on=days_from_today(-30), started_at=begun, unloaded_at=timezone.now())
    assert "first_charge" not in reasons(planned()).values()


def test_a_charge_that_was_called_off_teaches_nothing(woods):
    kiln = KilnFactory(trusted=False)
    charge_of(ready_stack(), kiln=kiln, called_off_at=timezone.now())
    assert "first_charge" in reasons(planned()).values()


def test_after_the_first_charge_that_is_accepted_the_others_may_follow(woods):
    kiln = KilnFactory(trusted=False)
    charge_of(ready_stack(), kiln=kiln, start_on=days_from_today(10), days=12)
    draft = planned()
    risky = {woods[name].code for name in ("dear", "thick", "slow")}
    assert inside(draft) & risky
    for one in draft.charges:
        assert one.start_on >= days_from_today(22) or not codes(one) & risky
    assert draft.notes["unknown"][0]["ahead"]


def test_what_is_too_risky_for_one_kiln_goes_into_another_that_is_known(woods):
    new, known = KilnFactory(trusted=False), KilnFactory()
    draft = planned(horizon_days=84)
    risky = {woods[name].code for name in ("dear", "thick", "slow")}
    assert inside(draft) & risky
    assert all(one.kiln == known.pk for one in draft.charges if codes(one) & risky)
    assert "first_charge" not in reasons(draft).values()
    assert new.pk != known.pk


def test_a_wish_for_an_unknown_kiln_is_told_why_it_collides(woods):
    kiln = KilnFactory(trusted=False)
    wish = Fixing(
        kind="into",
        stack=woods["dear"],
        kiln=kiln,
        start_on=today() + timedelta(days=work_days(today(), 7).index(True)),
        made_at=timezone.now(),
    )
    (clash,) = clashes_of([wish], today(), 56, False)
    assert (clash["why"], clash["figures"]["kiln"]) == ("first_charge", str(kiln.pk))
    assert "is not yet known" in clash_sentence(clash, today(), {str(kiln.pk): str(kiln)})
    kiln.trusted = True
    kiln.save()
    assert clashes_of([wish], today(), 56, False) == []
