"""A plan in work: asked for once, told as it goes, cancelled, cut short, taken up again when its worker is lost."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kilnruns import planning as planner
from kilnruns.actions import plannings, working
from kilnruns.models import Plan, Planning
from kilnruns.models.planning import LOST_AFTER, MOST_TRIES, UNCLAIMED_AFTER
from kilnruns.planning.answer import Draft
from kilnruns.planning.in_force import rebuilt
from tests.kilnruns.factories import KilnFactory, PlanFactory, days_from_today, propose, ready_stack, today

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def queued(settings):
    """Plans are queued in the database, and nobody works on them."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    reset_backends()
    yield
    del settings.TASKS
    reset_backends()


def reset_backends():
    from django_tasks import task_backends

    task_backends.__dict__.pop("settings", None)
    task_backends._settings = None
    for alias in ("default",):
        if hasattr(task_backends._connections, alias):
            delattr(task_backends._connections, alias)


def asked(**kwargs):
    wish = {"first_day": today(), "horizon_days": 56, "careful": False, "by": None} | kwargs
    return plannings.ask(**wish)


def in_work(**kwargs):
    now = timezone.now()
    begun = {"started_at": now, "beat_at": now, "worker": "one", "tries": 1}
    return Planning.objects.create(first_day=today(), **(begun | kwargs))


def draft(**kwargs):
    known = {"first_day": today(), "horizon_days": 56, "careful": False, "charges": (), "reasons": ()}
    return Draft(**known | {"value": 90.0, "bound": 100.0, "seconds": 1.0, "cut_by_clock": False} | kwargs)


@pytest.fixture
def told(monkeypatch):
    """A planner that tells its progress and does what it is told in `told["then"]`; what it was asked for."""
    seen = {"then": lambda: None, "calls": [], "answers": []}

    def propose_by(**kwargs):
        seen["calls"].append(kwargs)
        tell = kwargs["progress"]
        if tell:
            seen["answers"].append(tell(0.4, 91.0, 100.0))
            seen["then"]()
            seen["answers"].append(tell(0.5, 92.0, 100.0))
        return draft()

    monkeypatch.setattr(planner, "propose", propose_by)
    monkeypatch.setattr(working, "BEAT_SECONDS", 0.0)
    return seen


def test_a_plan_asked_for_is_made_and_kept(told):
    KilnFactory()
    planning, is_new = asked()
    assert is_new
    assert planning.state == "finished"
    assert planning.plan == Plan.objects.in_force()
    assert told["answers"] == [True, True]


def test_a_second_tap_makes_no_second_one(queued):
    first, is_new = asked()
    again, is_second_new = asked(horizon_days=28)
    assert (is_new, is_second_new) == (True, False)
    assert again == first
    assert DBTaskResult.objects.count() == 1


def test_the_database_itself_refuses_a_second_in_work():
    in_work()
    with pytest.raises(IntegrityError), transaction.atomic():
        in_work()
    now = timezone.now()
    for ended in ("finished_at", "cancelled_at", "failed_at"):
        in_work(**{ended: now})
        in_work(**{ended: now})


def test_it_says_how_far_it_is(told):
    planning = in_work(worker="", started_at=None, beat_at=None)
    seen = []
    told["then"] = lambda: seen.append(Planning.objects.get(pk=planning.pk))
    working.work(planning.pk)
    assert (seen[0].spent, seen[0].value, seen[0].bound) == (0.4, 91.0, 100.0)
    assert seen[0].state == "working"
    assert seen[0].of_bound == pytest.approx(0.91)


def test_cancelled_it_stops_and_the_plan_in_force_stays(told):
    before, planning = PlanFactory(), in_work(worker="", started_at=None, beat_at=None)
    told["then"] = lambda: plannings.cancel(planning=planning, at=timezone.now())
    working.work(planning.pk)
    planning.refresh_from_db()
    assert told["answers"] == [True], "the second time it is told to break off"
    assert planning.failure == ""
    assert planning.state == "cancelled"
    assert Plan.objects.in_force() == before


def test_the_best_so_far_is_taken_when_wanted(told):
    planning = in_work(worker="", started_at=None, beat_at=None)
    told["then"] = lambda: plannings.want_best(planning=planning, at=timezone.now())
    working.work(planning.pk)
    planning.refresh_from_db()
    assert told["answers"] == [True, False]
    assert planning.state == "finished"
    assert planning.plan == Plan.objects.in_force()


def test_nothing_can_be_taken_of_what_has_not_begun(queued):
    planning, _is_new = asked()
    assert not plannings.want_best(planning=planning, at=timezone.now())


def test_what_has_ended_is_not_cancelled():
    planning = in_work(finished_at=timezone.now())
    assert not plannings.cancel(planning=planning, at=timezone.now())


def test_a_failure_is_kept_and_raised(monkeypatch):
    def broken(**kwargs):
        raise ValueError("a kiln of no length")

    monkeypatch.setattr(planner, "propose", broken)
    planning = in_work(worker="", started_at=None, beat_at=None)
    with pytest.raises(ValueError, match="no length"):
        working.work(planning.pk)
    planning.refresh_from_db()
    assert (planning.state, planning.failure) == ("failed", "error")
    assert asked()[1]


def test_two_tries_at_once_make_one_plan(told):
    planning = in_work(worker="", started_at=None, beat_at=None)
    told["then"] = lambda: working.work(planning.pk)
    working.work(planning.pk)
    assert len(told["calls"]) == 1
    assert Plan.objects.count() == 1


def test_a_silent_worker_is_lost_and_another_takes_it_up(queued):
    planning = in_work(beat_at=timezone.now() - LOST_AFTER - MINUTE)
    assert plannings.take_up_lost(at=timezone.now()) == 1
    assert plannings.take_up_lost(at=timezone.now()) == 0
    planning.refresh_from_db()
    assert planning.state == "again"
    assert [row.args_kwargs["args"] for row in DBTaskResult.objects.all()] == [[planning.pk]]


def test_the_lost_worker_keeps_nothing_when_it_wakes(told):
    planning = in_work(worker="", started_at=None, beat_at=None)

    def slept():
        Planning.objects.filter(pk=planning.pk).update(worker="another")

    told["then"] = slept
    working.work(planning.pk)
    assert told["answers"] == [True], "it breaks off"
    assert not Plan.objects.exists()
    planning.refresh_from_db()
    assert planning.state == "working"


def test_a_worker_that_gives_signs_of_life_is_left_alone(queued):
    in_work()
    assert plannings.take_up_lost(at=timezone.now()) == 0


def test_what_was_handed_back_is_taken_up_at_once(queued):
    planning = in_work(worker="embedded-7-x")
    assert plannings.hand_back(workers="embedded-8") == 0
    assert plannings.hand_back(workers="embedded-7") == 1
    assert plannings.take_up_lost(at=timezone.now()) == 1
    working_again = working.claim(planning.pk)
    assert working_again is not None
    assert working_again.tries == 2


def test_one_that_never_came_to_a_worker_is_queued_again(queued):
    in_work(worker="", started_at=None, beat_at=None, asked_at=timezone.now() - UNCLAIMED_AFTER - MINUTE)
    assert plannings.take_up_lost(at=timezone.now()) == 1


def test_after_three_tries_it_is_given_up_in_words(queued, signed_in):
    KilnFactory()
    planning = in_work(beat_at=timezone.now() - LOST_AFTER - MINUTE, tries=MOST_TRIES)
    assert plannings.take_up_lost(at=timezone.now()) == 0
    planning.refresh_from_db()
    assert (planning.state, planning.failure) == ("failed", "broken_off")
    assert "broken off three times" in signed_in.get("/kilns/").content.decode()


def test_a_first_plan_is_there_at_once_where_it_takes_long(told, monkeypatch):
    monkeypatch.setattr(planner, "seconds_for", lambda stacks: 60.0)
    planning = in_work(worker="", started_at=None, beat_at=None)
    seen = []
    told["then"] = lambda: seen.append(Plan.objects.in_force())
    working.work(planning.pk)
    planning.refresh_from_db()
    assert [call["seconds"] for call in told["calls"]] == [planner.FIRST_SECONDS, 60.0]
    assert seen == [None, planning.first_plan]
    assert planning.plan == Plan.objects.in_force() != planning.first_plan


def test_the_plan_in_force_is_handed_to_the_planner(told):
    before, planning = PlanFactory(), in_work(worker="", started_at=None, beat_at=None)
    working.work(planning.pk)
    assert [call["in_force"] for call in told["calls"]] == [before]


def test_a_free_plan_says_what_keeping_near_would_bring(told):
    before, planning = PlanFactory(), in_work(worker="", started_at=None, beat_at=None, freely=True)
    working.work(planning.pk)
    assert [call["in_force"] for call in told["calls"]] == [None, before]
    assert Plan.objects.in_force().notes["near"]["value"] == 90.0


@pytest.mark.parametrize(("stacks", "seconds"), [(12, 5), (60, 10), (200, 60), (300, 60), (301, 150), (2000, 150)])
def test_the_time_grows_with_the_yard(stacks, seconds):
    assert planner.seconds_for(stacks) == seconds


def test_a_real_yard_is_planned_twice_and_the_second_plan_moves_nothing():
    KilnFactory(may_split=False)
    for _ in range(8):
        ready_stack(lines=[(4000, 150, 60)])
    first, _is_new = asked()
    again, _is_new = asked()
    assert first.plan.proposals.exists()
    assert again.plan == first.plan  # nothing has changed, and nothing better was found
    ready_stack(lines=[(2000, 100, 3)])  # too little to matter
    second, _is_new = asked()
    assert second.plan != first.plan
    assert second.plan.moved["of"] > 0
    assert second.plan.moved["stacks"] == []


def test_the_plan_in_force_comes_back_as_the_planner_had_it():
    kiln, wood = KilnFactory(), [ready_stack(lines=[(4000, 150, 30), (2000, 120, 10)]) for _ in range(2)]
    taken = {wood[0]: [[4000, 150, 30], [2000, 120, 10]], wood[1]: [[4000, 150, 12]]}
    proposal = propose(kiln, taken, start_on=days_from_today(4))
    propose(kiln, {ready_stack(): [[4000, 150, 3]]}, plan=proposal.plan, start_on=days_from_today(-1))
    lumber = planner.case(today(), 56).lumber.values()
    plan = rebuilt(proposal.plan, today(), lumber)
    assert [(one.kiln, one.start_day, one.days) for one in plan.charges] == [(str(kiln.pk), 4, 12)]
    assert {one.code: one.pieces for one in plan.charges[0].shares} == {wood[0].code: (30, 10), wood[1].code: (12, 0)}


def test_cancelled_while_the_plan_for_the_meantime_is_made_it_stops_as_well(told, monkeypatch):
    monkeypatch.setattr(planner, "seconds_for", lambda stacks: 60.0)
    planning = in_work(worker="", started_at=None, beat_at=None)
    told["then"] = lambda: plannings.cancel(planning=planning, at=timezone.now())
    working.work(planning.pk)
    assert [call["seconds"] for call in told["calls"]] == [planner.FIRST_SECONDS]
    assert Plan.objects.in_force() is None
