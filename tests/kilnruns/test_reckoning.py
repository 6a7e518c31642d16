"""What a fixing costs, off the request: asked once, told as it goes, given up when lifted, taken up again."""

from datetime import timedelta

import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kilnruns.actions import reckonings, working
from kilnruns.actions.fixings import lift
from kilnruns.actions.plannings import hand_back
from kilnruns.actions.reckonings import ask_cost, take_up_lost_costs
from kilnruns.models import Fixing, Planning, Reckoning
from kilnruns.models.planning import LOST_AFTER, MOST_TRIES, UNCLAIMED_AFTER
from kilnruns.planning.fixings import Cost
from tests.kilnruns.factories import KilnFactory, ready_stack, today
from tests.kilnruns.test_planning_tasks import queued

__all__ = ["queued"]
pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def fixing(db):
    KilnFactory()
    return Fixing.objects.create(kind="hold", stack=ready_stack(), made_at=timezone.now())


@pytest.fixture
def told(monkeypatch):
    """A planner that does what it is told in `told["then"]` between two calls of its progress."""
    seen = {"then": lambda: None, "answers": []}

    def cost_of(fixing, *, progress, **kwargs):
        seen["answers"].append(progress(0.4, 91.0, 100.0))
        seen["then"]()
        seen["answers"].append(progress(0.5, 92.0, 100.0))
        return Cost(eur=12.0, with_it=80.0, without=92.0, cut_by_clock=False, unmet=[])

    monkeypatch.setattr(reckonings.asked, "cost_of", cost_of)
    monkeypatch.setattr(working, "BEAT_SECONDS", 0.0)
    return seen


def in_work(fixing, **kwargs):
    now = timezone.now()
    return Reckoning.objects.create(fixing=fixing, **({"worker": "one", "tries": 1, "beat_at": now} | kwargs))


def test_asked_for_it_is_reckoned_and_kept(fixing, told):
    row = ask_cost(fixing=fixing, at=timezone.now())
    assert (row.state, row.tries) == ("finished", 1)
    assert row.found == {"eur": 12.0, "with_it": 80.0, "without": 92.0, "cut_by_clock": False, "unmet": []}
    fixing.refresh_from_db()
    assert fixing.cost == 12.0 and fixing.counted_at == row.finished_at


def test_the_page_answers_at_once_and_asks_again_until_it_is_there(queued, signed_in, fixing, told):
    page = signed_in.post(f"/fixings/{fixing.pk}/cost/", follow=True).content.decode()
    assert "Reckoning what it costs" in page and 'hx-trigger="every 2s"' in page
    assert f'<noscript><a class="act quiet" href="/fixings/{fixing.pk}/">' in page
    assert told["answers"] == []
    reckonings.reckon(Reckoning.objects.get().pk)
    fragment = signed_in.get(f"/fixings/{fixing.pk}/cost/", headers={"HX-Request": "true"}).content.decode()
    assert "12 EUR" in fragment.replace("\u202f", " ") and "every 2s" not in fragment


def test_asked_twice_it_is_one_task_and_ended_it_is_asked_anew(queued, fixing, told):
    first = ask_cost(fixing=fixing, at=timezone.now())
    assert ask_cost(fixing=fixing, at=timezone.now()) == first
    assert DBTaskResult.objects.count() == 1
    reckonings.reckon(first.pk)
    again = ask_cost(fixing=fixing, at=timezone.now())
    assert (again.pk, again.state, again.found) == (first.pk, "waiting", None)
    assert DBTaskResult.objects.count() == 2


def test_lifted_meanwhile_it_is_given_up(fixing, told, user):
    told["then"] = lambda: lift(fixing=Fixing.objects.get(), by=user, at=timezone.now())
    row = ask_cost(fixing=fixing, at=timezone.now())
    assert told["answers"] == [True], "it breaks off"
    fixing.refresh_from_db()
    assert row.found is None and fixing.cost is None
    assert not Reckoning.objects.in_work().exists()


def test_what_another_has_in_work_is_left_alone(fixing, told):
    row = in_work(fixing)
    reckonings.reckon(row.pk)
    assert told["answers"] == []


def test_what_a_lost_try_finds_is_not_kept(fixing, told):
    told["then"] = lambda: Reckoning.objects.update(worker="another")
    row = ask_cost(fixing=fixing, at=timezone.now())
    assert row.worker == "another" and row.found is None


def test_a_lost_one_is_queued_again_three_times_at_most(queued, fixing):
    now = timezone.now()
    row = in_work(fixing, beat_at=now - LOST_AFTER - MINUTE)
    assert take_up_lost_costs(at=now) == 1
    assert take_up_lost_costs(at=now) == 0
    Reckoning.objects.update(worker="two", tries=MOST_TRIES, beat_at=now - MINUTE)
    assert take_up_lost_costs(at=now) == 0
    row.refresh_from_db()
    assert row.state == "failed"


def test_what_an_ending_worker_hands_back_is_taken_up_at_once(queued, fixing, told):
    row = in_work(fixing, worker="host-1-abc")
    assert hand_back(workers="host-1") == 1
    assert take_up_lost_costs(at=timezone.now()) == 1
    reckonings.reckon(row.pk)
    row.refresh_from_db()
    assert (row.state, row.tries) == ("finished", 2)


def test_one_that_waits_behind_a_planning_is_not_lost(queued, fixing):
    asked_at = timezone.now() - UNCLAIMED_AFTER - MINUTE
    Reckoning.objects.create(fixing=fixing, asked_at=asked_at)
    planning = Planning.objects.create(first_day=today(), worker="one", beat_at=timezone.now())
    assert take_up_lost_costs(at=timezone.now()) == 0
    planning.delete()
    assert take_up_lost_costs(at=timezone.now()) == 1


def test_what_goes_wrong_is_told_and_can_be_asked_anew(signed_in, fixing, told):
    def fail():
        raise RuntimeError("no such wood")

    told["then"] = fail
    ask_cost(fixing=fixing, at=timezone.now())
    text = signed_in.get(f"/fixings/{fixing.pk}/").content.decode()
    assert "could not be reckoned" in text and "Count what it costs" in text
    told["then"] = lambda: None
    assert ask_cost(fixing=fixing, at=timezone.now()).state == "finished"
