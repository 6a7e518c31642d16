"""What a person has fixed: kept for the planner, refused where it collides, counted in money, lifted again."""

import inspect
import re
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from drying.planner import clashing, fixings
from kilnruns.actions.fixings import fix, lift
from kilnruns.actions.plans import make_plan
from kilnruns.models import Fixing, Plan
from kilnruns.planning import fixings as asked
from kilnruns.planning import propose
from kilnruns.templatetags.reasons import clash_sentence
from tests.factories import PlaceFactory, SpeciesFactory
from tests.kilnruns.factories import ClosureFactory, KilnFactory, charge_of, days_from_today, ready_stack, today
from yard.models import Species

SUNDAY = 6
pytestmark = pytest.mark.django_db
DAYS = 42


def workday(ahead):
    """The first day from then on that is no Sunday."""
    day = days_from_today(ahead)
    return day + timedelta(days=1) if day.weekday() == SUNDAY else day


@pytest.fixture
def kiln(db):
    return KilnFactory(cost_per_day=10)


@pytest.fixture
def pine(db):
    return SpeciesFactory(rate=0.35)


@pytest.fixture
def stacks(kiln, pine):
    """Two that would each fill most of the kiln, and one small."""
    place = PlaceFactory()
    sizes = [[(4000, 150, 150)], [(4000, 150, 140)], [(2000, 120, 20)]]
    return [ready_stack(pine, place=place, lines=lines) for lines in sizes]


def made(kind, stack, by, **given):
    return fix(fixings=[Fixing(kind=kind, stack=stack, **given)], by=by, at=timezone.now())[0]


def plan_of(user):
    return make_plan(first_day=today(), horizon_days=DAYS, careful=False, by=user, seconds=20)


def where(plan, stack):
    return [(one.kiln_id, one.start_on) for one in plan.proposals.filter(shares__stack=stack).distinct()]


def test_a_plan_keeps_what_is_fixed_until_it_is_lifted(stacks, kiln, user):
    day = workday(9)
    fixing = made("into", stacks[1], user, kiln=kiln, start_on=day)
    plan = plan_of(user)
    assert where(plan, stacks[1]) == [(kiln.pk, day)]
    assert plan.notes["unmet"] == []
    lift(fixing=fixing, by=user, at=timezone.now())
    assert where(plan_of(user), stacks[1]) != [(kiln.pk, day)]


def test_a_stack_that_waits_is_left_out_and_the_day_is_told(stacks, user):
    made("hold", stacks[0], user, until=days_from_today(DAYS + 10))
    left = plan_of(user).left_out.get(stack=stacks[0])
    assert (left.why, left.figures) == ("held", {"until": DAYS + 10})


def test_two_stacks_kept_apart_share_no_charge(stacks, user):
    small = stacks[2]
    small.value_per_m3 = 5000  # so dear that it surely goes
    small.save()
    together = next(one for one in plan_of(user).proposals.all() if one.shares.filter(stack=small).exists())
    other = together.shares.exclude(stack=small).first().stack
    made("apart", small, user, other=other)
    for one in plan_of(user).proposals.all():
        assert not {small.pk, other.pk} <= {share.stack_id for share in one.shares.all()}


def test_what_a_plan_could_not_keep_is_told_with_the_fixing_it_is_about(stacks, kiln, user):
    day = workday(9)
    first = made("into", stacks[0], user, kiln=kiln, start_on=day)
    second = Fixing.objects.create(kind="into", stack=stacks[1], kiln=kiln, start_on=day, made_at=timezone.now())
    plan = plan_of(user)
    (unmet,) = plan.notes["unmet"]
    assert (unmet["fixing"], unmet["code"], unmet["why"]) == (second.pk, stacks[1].code, "too_much")
    assert where(plan, stacks[0]) == [(kiln.pk, day)]
    assert first.pk != second.pk


def test_a_new_way_for_a_stack_lifts_the_former_and_twice_the_same_is_kept_once(stacks, kiln, user):
    into = made("into", stacks[0], user, kiln=kiln, start_on=workday(9))
    assert made("into", stacks[0], user, kiln=kiln, start_on=workday(9)) == into
    hold = made("hold", stacks[0], user, until=days_from_today(20))
    apart = made("apart", stacks[0], user, other=stacks[1])
    assert made("apart", stacks[1], user, other=stacks[0]) != apart
    into.refresh_from_db()
    assert into.lifted_at and into.lifted_by == user
    assert [one.kind for one in Fixing.objects.in_force(today())] == ["hold", "apart"]
    assert Fixing.objects.in_force(today()).first() == hold


def test_what_is_past_in_a_charge_or_dry_is_in_force_no_more(stacks, kiln, user, pine):
    in_charge, dry = ready_stack(pine), ready_stack(pine, kiln_dried_on=today())
    charge_of(in_charge)
    for stack, given in (
        (stacks[0], {"kind": "into", "kiln": kiln, "start_on": days_from_today(-1)}),
        (stacks[1], {"kind": "hold", "until": today()}),
        (in_charge, {"kind": "hold"}),
        (dry, {"kind": "hold"}),
        (stacks[2], {"kind": "apart", "other": in_charge}),
    ):
        Fixing.objects.create(stack=stack, made_at=timezone.now(), **given)
    assert list(Fixing.objects.in_force(today())) == []
    Fixing.objects.create(stack=stacks[1], kind="hold", made_at=timezone.now())
    assert Fixing.objects.in_force(today()).count() == 1


def test_a_fixing_that_does_not_say_what_it_fixes_is_no_row(stacks):
    for kind in ("into", "start", "apart"):
        with pytest.raises(IntegrityError), transaction.atomic():
            Fixing.objects.create(kind=kind, stack=stacks[0], made_at=timezone.now())


def test_what_it_costs_is_the_plan_without_it_less_that_with_it(stacks, kiln, user):
    free = propose(first_day=today(), horizon_days=DAYS, seconds=20)
    late = Fixing(kind="into", stack=stacks[0], kiln=kiln, start_on=workday(38))
    cost = asked.cost_of(late, first_day=today(), horizon_days=DAYS, seconds=20)
    assert not cost.cut_by_clock and cost.unmet == []
    assert cost.without >= free.value - 0.01
    assert cost.eur == pytest.approx(cost.without - cost.with_it) and cost.eur > 1
    made("into", stacks[0], user, kiln=kiln, start_on=workday(38))
    kept = propose(first_day=today(), horizon_days=DAYS, seconds=20)
    assert kept.value <= cost.with_it + 0.01


def test_what_it_costs_counts_with_all_else_that_is_fixed(stacks, kiln, user):
    made("hold", stacks[1], user)
    nothing = Fixing(kind="hold", stack=stacks[1])
    again = asked.cost_of(nothing, first_day=today(), horizon_days=DAYS, seconds=20)
    assert again.eur > 1, "a wish is compared with the plan without it, though it is in force already"
    made("hold", stacks[0], user)
    late = Fixing(kind="hold", stack=stacks[2])
    cost = asked.cost_of(late, first_day=today(), horizon_days=DAYS, seconds=20)
    assert (cost.eur, cost.without) == (0, 0)


def told(fixing):
    names = {str(fixing.kiln_id): "Small kiln"}
    found = asked.clashes_of([fixing], today(), DAYS, False)
    return [" ".join(clash_sentence(one, date(2026, 7, 18), names).replace("\u202f", " ").split()) for one in found]


def test_a_wish_that_can_not_be_kept_says_every_rule_before_any_plan_is_made(stacks, kiln, user):
    assert told(Fixing(kind="into", stack=stacks[0], kiln=kiln, start_on=workday(9))) == []
    ClosureFactory(kiln=kiln, first_day=days_from_today(8), last_day=days_from_today(11))
    (words,) = told(Fixing(kind="into", stack=stacks[0], kiln=kiln, start_on=days_from_today(9)))
    assert words == "Small kiln is taken from 26 July; it is free again from 30 July."
    long = ready_stack(Species.objects.first(), lines=[(6200, 150, 30)])
    (words,) = told(Fixing(kind="into", stack=long, kiln=kiln, start_on=workday(20)))
    assert words.startswith("Its longest boards are 6.20 m; Small kiln takes at most 4.20 m.")
    assert not Plan.objects.exists()


def test_a_wish_is_judged_beside_what_is_fixed_but_not_beside_what_it_replaces(stacks, kiln, user, pine):
    day = workday(9)
    made("into", stacks[0], user, kiln=kiln, start_on=day)
    assert told(Fixing(kind="into", stack=stacks[0], kiln=kiln, start_on=workday(16))) == []
    (words,) = told(Fixing(kind="into", stack=stacks[1], kiln=kiln, start_on=day))
    assert "With all that is fixed into that charge it would take" in words
    made("apart", stacks[2], user, other=stacks[0])
    (words,) = told(Fixing(kind="into", stack=stacks[2], kiln=kiln, start_on=day))
    assert words.startswith("It is never to go together with")


CLASHES = {
    "unknown": ({"stack": "234567ABCD"}, "234 567 ABCD is not among the stacks to plan for"),
    "waits": ({}, "set aside"),
    "no_such_kiln": ({"kiln": "9"}, "not in use"),
    "longer": (
        {"kiln": "1", "longest_mm": 6200, "limit_mm": 5000},
        "boards are 6.20 m; Small kiln takes at most 5.00 m",
    ),
    "larger": ({"kiln": "1", "needed": 1.2}, "It would take 120 % of Small kiln"),
    "cannot_dry": ({"kiln": "1", "target_pct": 8}, "not warm and dry enough to bring it to 8 %"),
    "not_ready": (
        {"start": 5, "ready_p10": 10, "ready_p50": 12, "ready_p90": 20},
        "On 23 July it is still too wet: ready only about 30 July (28 July to 7 August 2026).",
    ),
    "held_back": ({"start": 5, "until": 20}, "held back until 7 August"),
    "outside": ({"start": 60, "horizon": 56}, "The plan ends on 11 September; 16 September is outside it."),
    "no_work_day": ({"start": 1}, "Nobody loads on 19 July"),
    "blocked": (
        {"kiln": "1", "start": 0, "begin": 3, "until": 9, "days": 12},
        "taken from 21 July, and a run from 18 July lasts 12 days. It is free again from 27 July.",
    ),
    "other_group": (
        {"stack": "234567ABCD", "mine": "softwood@8", "theirs": "slow_hardwood@8"},
        "234 567 ABCD, which is fixed into that charge, is slow hardwood for 8 %; this is softwood for 8 %.",
    ),
    "other_thickness": ({"stack": "234567ABCD", "mine": 27, "theirs": 52}, "is 52 mm thick; this is 27 mm"),
    "other_moisture": ({"stack": "234567ABCD", "mine": 14.2, "theirs": 22.6}, "will then be at 23 %, this one at 14 %"),
    "apart": ({"stack": "234567ABCD"}, "never to go together with 234 567 ABCD"),
    "too_much": ({"kiln": "1", "start": 5, "share": 1.2}, "it would take 120 % of Small kiln"),
    "overlap": (
        {"kiln": "1", "stack": "234567ABCD", "begin": 9, "end": 20, "my_start": 5, "my_end": 14},
        "A run from 23 July takes Small kiln until 1 August, but the charge of 234 567 ABCD is fixed there from"
        " 27 July to 7 August.",
    ),
    "other_place": ({"kiln": "1", "start": 5}, "It is fixed already: Small kiln, 23 July."),
    "pinned": ({"kiln": "1", "start": 5}, "fixed into the charge of Small kiln on 23 July"),
    "no_day": ({"kiln": "1", "ready": 40}, "Ready about 27 August; from then on Small kiln has no room"),
    "itself": ({}, "kept apart from itself"),
    "too_many": ({}, "Too many pairs"),
    "no_room": ({"kiln": "1", "start": 5}, "No room was found for it in Small kiln on 23 July."),
}


@pytest.mark.parametrize("why", CLASHES)
def test_each_rule_has_its_sentence_with_figures_and_days(why):
    figures, words = CLASHES[why]
    sentence = clash_sentence({"why": why, "figures": figures}, date(2026, 7, 18), {"1": "Small kiln"})
    assert words in " ".join(sentence.replace("\u202f", " ").split())


def test_no_rule_of_the_core_lacks_its_sentence():
    """The rules as the core's own sources name them."""
    sources = "".join(inspect.getsource(one) for one in (clashing, fixings))
    named = set(re.findall(r'(?:yield \(?\s*|\[\(|Clash\(one, )"(\w+)"', sources))
    assert named == set(CLASHES)
