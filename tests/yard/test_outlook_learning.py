"""What the yard learns from its stacks, and what its forecasts make of it."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.factories import (
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
    UserFactory,
)
from yard import outlook
from yard.actions import learning as actions
from yard.actions import stacks as stack_actions
from yard.actions.readings import void_reading
from yard.models import LearningChange, Outlook, Stay
from yard.outlook.learning import where_dried

pytestmark = pytest.mark.django_db

CUT = date(2025, 4, 3)
NOW = datetime(2025, 9, 1, 12, tzinfo=UTC)
BOOK_SD = float(np.hypot(0.6, 0.1))  # of an unknown wood in a roofed shed


def noon(day):
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


@pytest.fixture
def larch():
    return SpeciesFactory(name="larch", rate=0.3)


@pytest.fixture
def shed():
    return PlaceFactory(name="Long shed")


def finished(species, place, deviation=0.3, sd=0.2, readings=3, **kwargs):
    """A used stack whose readings alone say `deviation` with `sd`."""
    used_at = kwargs.pop("used_at", NOW)
    stack = StackFactory(species=species, place=place, used_at=used_at, **kwargs)
    as_of = CUT + timedelta(days=20 * readings)
    for i in range(readings):
        ReadingFactory(stack=stack, taken_at=noon(CUT + timedelta(days=20 * (i + 1))))
    precision = BOOK_SD**-2 + sd**-2
    book = float(np.log(species.rate))
    mean = (book / BOOK_SD**2 + (book + deviation) / sd**2) / precision
    OutlookFactory(
        stack=stack,
        as_of=as_of,
        rate_log_mean=mean,
        rate_log_sd=precision**-0.5,
        prior_log_mean=book,
        prior_log_sd=BOOK_SD,
        reading_count=readings,
        dried_at=place,
    )
    return stack


def read_while_drying(species, place):
    """A stack that stands on and will be read again."""
    stack = StackFactory(species=species, place=place)
    for days, moisture in ((30, 38), (60, 27), (90, 22)):
        ReadingFactory(stack=stack, taken_at=noon(CUT + timedelta(days=days)), raw=[moisture] * 8)
    return stack


def told():
    return {one.stack.code: one for one in outlook.knowledge().told}


def test_a_finished_stack_says_what_its_readings_say_without_the_prior(larch, shed):
    stack = finished(larch, shed, deviation=0.4, sd=0.25)
    (one,) = outlook.knowledge().told
    assert (one.stack, one.place, one.readings, one.counts) == (stack, shed, 3, True)
    assert (one.deviation, one.sd) == pytest.approx((0.4, 0.25))
    shift = outlook.knowledge().learned.of(str(larch.pk), str(shed.pk))
    assert 0 < shift.log_mean < 0.4
    assert shift.stacks == 1


def test_a_forecast_from_before_the_learning_had_the_books_prior(larch, shed):
    stack = finished(larch, shed, deviation=0.4, sd=0.25)
    Outlook.objects.filter(stack=stack).update(prior_log_mean=None, prior_log_sd=None)
    assert (told()[stack.code].deviation, told()[stack.code].sd) == pytest.approx((0.4, 0.25))


def test_who_teaches(larch, shed):
    used = finished(larch, shed)
    dried = finished(larch, shed, used_at=None, kiln_dried_on=date(2025, 8, 1))
    drying = finished(larch, shed, used_at=None)  # the dry ones alone would be the fast ones
    joined = finished(larch, shed, used_at=None, joined_into=drying)
    read_once = finished(larch, shed, readings=1)
    vague = finished(larch, shed, sd=1.2)
    assert set(told()) == {used.code, dried.code, drying.code}
    assert not {joined.code, read_once.code, vague.code} & set(told())


def test_a_voided_reading_is_not_heard(larch, shed):
    stack = finished(larch, shed, readings=2)
    assert set(told()) == {stack.code}
    void_reading(reading=stack.readings.first(), reason="Mistyped", by=None, at=NOW)
    assert told() == {}
    drying = read_while_drying(larch, shed)
    outlook.refresh([drying])
    void_reading(reading=drying.readings.first(), reason="Mistyped", by=None, at=NOW)
    assert told()[drying.code].readings == 2


def test_a_stack_taught_where_it_stood_longest_outdoors(shed):
    stack = StackFactory(place=shed)
    row, kiln = PlaceFactory(), KilnPlaceFactory()
    for place, days in ((row, 20), (kiln, 70), (shed, 72)):
        Stay.objects.create(stack=stack, place=place, since=noon(CUT + timedelta(days=days)))
    stays = list(stack.stays.select_related("place"))
    assert where_dried(stays, CUT, CUT + timedelta(days=10)) == shed
    assert where_dried(stays, CUT, CUT + timedelta(days=60)) == row
    assert where_dried(stays, CUT, CUT + timedelta(days=71)) == row
    assert where_dried(stays, CUT, CUT + timedelta(days=200)) == shed
    assert where_dried(stays, CUT, CUT) == shed
    assert where_dried([stay for stay in stays if stay.place == kiln], CUT, CUT) is None


def test_the_next_stack_is_forecast_with_what_was_learned(larch, shed):
    before = StackFactory(species=larch, place=shed)
    outlook.refresh([before])
    plain = Outlook.objects.get(stack=before)
    assert (plain.learned_from, plain.prior_log_mean) == (0, pytest.approx(np.log(0.3)))
    assert plain.prior_log_sd == pytest.approx(BOOK_SD)
    for _number in range(6):
        finished(larch, shed, deviation=0.4)
    outlook.refresh([before])
    now = Outlook.objects.get(stack=before)
    assert now.learned_from == 6
    assert np.log(0.3) + 0.2 < now.prior_log_mean < np.log(0.3) + 0.4
    assert now.rate_log_mean == pytest.approx(now.prior_log_mean)
    assert now.prior_log_sd < plain.prior_log_sd
    assert now.ready_p50 < plain.ready_p50
    assert now.ready_p90 < plain.ready_p90


def test_no_stack_learns_from_itself_nor_from_its_parts(larch, shed):
    """A stack that dries still and is read again: its forecast hears of the others alone."""
    stack = read_while_drying(larch, shed)
    outlook.refresh([stack])
    kept = Outlook.objects.get(stack=stack)
    assert (kept.learned_from, kept.prior_log_mean) == (0, pytest.approx(np.log(0.3)))
    part = stack_actions.split(stack=stack, lines=[(4000, 150, 10)], by=None, at=NOW)
    outlook.refresh([stack, part])
    stack_actions.use(stack=part, for_what="a floor", by=None, at=NOW)
    outlook.refresh([stack])
    assert len(outlook.knowledge().told) == 1
    kept.refresh_from_db()
    assert (kept.learned_from, kept.prior_log_mean) == (0, pytest.approx(np.log(0.3)))


def test_evidence_under_a_learned_prior_is_the_same_as_under_the_books(larch, shed):
    """Read again under another prior, a stack must say the same: nothing is counted twice."""
    stack = read_while_drying(larch, shed)
    outlook.refresh([stack])
    alone = told()[stack.code]
    for _number in range(6):
        finished(larch, shed, deviation=alone.deviation + 0.2)
    outlook.refresh([stack])
    taught = told()[stack.code]
    assert Outlook.objects.get(stack=stack).learned_from == 6
    assert taught.deviation == pytest.approx(alone.deviation, abs=0.06)
    assert taught.sd == pytest.approx(alone.sd, rel=0.15)


def test_a_stack_left_out_teaches_nothing_until_it_is_put_back(larch, shed):
    stack, user = finished(larch, shed), UserFactory()
    with pytest.raises(ValidationError, match="counts already"):
        actions.put_back(stack=stack, reason="no", by=user, at=NOW)
    actions.leave_out(stack=stack, reason="wrong tag", by=user, at=NOW)
    with pytest.raises(ValidationError, match="left out already"):
        actions.leave_out(stack=stack, reason="wrong tag", by=user, at=NOW)
    known = outlook.knowledge()
    assert known.told[0].left_out
    assert known.counting == []
    assert known.learned.of(str(larch.pk), str(shed.pk)).factor == 1
    actions.put_back(stack=stack, reason="it was right", by=user, at=NOW + timedelta(hours=1))
    assert outlook.knowledge().counting[0].stack == stack
    assert [row.kind for row in LearningChange.objects.all()] == ["put_back", "left_out"]


def test_a_reset_forgets_what_was_read_before_it(larch, shed):
    oak, row = SpeciesFactory(), PlaceFactory()
    stacks = [finished(*kind) for kind in ((larch, shed), (oak, shed), (larch, row))]

    def counting():
        return [any(one.stack == stack and one.counts for one in outlook.knowledge().told) for stack in stacks]

    actions.reset(species=larch, reason="another sawyer", by=None, at=noon(CUT + timedelta(days=30)))
    assert counting() == [True, True, True]  # their last reading came later
    actions.reset(species=larch, place=row, reason="moved", by=None, at=NOW)
    assert counting() == [True, True, False]
    actions.reset(place=shed, reason="new roof", by=None, at=NOW)
    assert counting() == [False, False, False]
    finished(larch, shed, cut_on=CUT)
    Outlook.objects.update(as_of=date(2025, 12, 1))
    assert counting() == [True, True, True]
    actions.reset(reason="all new", by=None, at=datetime(2026, 1, 1, tzinfo=UTC))
    assert outlook.knowledge().counting == []


def test_a_change_has_a_reason_and_names_what_it_is_about(larch, shed):
    for wrong in ({"kind": "reset", "reason": ""}, {"kind": "left_out", "reason": "x"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            LearningChange.objects.create(at=NOW, **wrong)


def test_forecasts_follow_what_people_say_and_unread_ones_what_is_finished(larch, shed):
    unread, read = OutlookFactory(stack__species=larch).stack, OutlookFactory(stack__species=larch).stack
    other = OutlookFactory().stack
    ReadingFactory(stack=read)
    done = finished(larch, shed, used_at=None)
    stack_actions.use(stack=done, for_what="a floor", by=None, at=timezone.now())
    kept = set(Outlook.objects.values_list("stack", flat=True))
    assert kept == {read.pk, other.pk, done.pk}
    actions.leave_out(stack=done, reason="wet pocket", by=None, at=timezone.now())
    assert set(Outlook.objects.values_list("stack", flat=True)) == {done.pk}
    assert unread.pk not in kept


def test_kiln_drying_makes_unread_forecasts_of_the_wood_anew(larch, shed):
    unread = OutlookFactory(stack__species=larch).stack
    done = finished(larch, shed, used_at=None)
    stack_actions.mark_kiln_dried(stacks=[done], on=date(2025, 8, 1), by=None, at=NOW)
    assert not Outlook.objects.filter(stack=unread).exists()
    assert done.code in told()


def test_a_stack_far_from_the_others_stands_out(larch, shed):
    for _number in range(8):
        finished(larch, shed, deviation=0.1, sd=0.1)
    odd = finished(larch, shed, deviation=-1.5, sd=0.1)
    surprises = outlook.knowledge().surprises
    assert surprises.pop(odd.pk) < -3
    assert max(map(abs, surprises.values())) < 1.5


def test_what_was_learned_is_read_in_a_fixed_number_of_queries(larch, shed, django_assert_num_queries):
    for count in (2, 10):
        for _number in range(count):
            finished(larch, shed)
        with django_assert_num_queries(5):
            assert outlook.knowledge().learned.of().factor > 1
