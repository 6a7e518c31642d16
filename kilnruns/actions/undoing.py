"""What is changed about kilns, charges and plans: its words, who may take it back, and how."""

from datetime import timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from kilnruns.actions import charges, closing, running
from kilnruns.models import Charge, FinalMeasurement, RunRecord, StressTest
from yard.actions.readings import void_reading
from yard.changes import Kind, register
from yard.models import Change, keptwords


def register_kinds() -> None:
    register(**_KILNS, **_MILL, **_CHARGES, **_RUNS, **_SENSORS, **_PAPERS)


def _no_run(*, change: Change) -> None:
    """A start can be taken back while nothing is noted of the run."""
    for charge in Charge.objects.filter(pk__in=change.keys_of("kilnruns.charge")):
        if charge.records.exists() or charge.final_measurements.exists() or charge.stress_tests.exists():
            raise ValidationError(_("It can't be undone: its run is noted already. Unload the charge instead."))


def _days_free(*, change: Change) -> None:
    """A charge can be put back while nothing else was planned on its days."""
    for charge in Charge.objects.filter(pk__in=change.keys_of("kilnruns.charge")).select_related("kiln__place"):
        others = charge.kiln.charges.ahead().exclude(pk=charge.pk)
        last = charge.start_on + timedelta(days=charge.days)
        if any(one.start_on < last and charge.start_on < one.ends_on for one in others):
            words = {"kiln": charge.kiln}
            raise ValidationError(_("It can't be undone: another charge has its days in %(kiln)s now.") % words)


def _call_off(*, change: Change, by: Any, at: Any) -> None:
    for charge in Charge.objects.filter(pk__in=change.original.keys_of("kilnruns.charge")):
        charges.call_off(charge=charge, by=by, at=at)


def _void_record(*, change: Change, by: Any, at: Any) -> None:
    for record in RunRecord.objects.filter(pk__in=change.original.keys_of("kilnruns.runrecord")):
        running.void_record(record=record, reason=keptwords.UNDONE, by=by, at=at)


def _void_measurement(*, change: Change, by: Any, at: Any) -> None:
    rows = FinalMeasurement.objects.filter(pk__in=change.original.keys_of("kilnruns.finalmeasurement"))
    for row in rows.select_related("reading__stack"):
        void_reading(reading=row.reading, reason=keptwords.UNDONE, by=by, at=at)


def _void_test(*, change: Change, by: Any, at: Any) -> None:
    for test in StressTest.objects.filter(pk__in=change.original.keys_of("kilnruns.stresstest")):
        closing.void_stress_test(test=test, by=by, at=at)


_KILNS = {
    "kiln_changed": Kind(lazy("kiln changed"), owners=True),
    "kiln_booked": Kind(lazy("days kept free"), owners=True),
    "booking_lifted": Kind(lazy("days no longer kept free"), owners=True),
    "lesson_taken": Kind(lazy("figure taken over from its runs"), owners=True),
    "schedule_kept": Kind(lazy("steps kept for its next charges"), owners=True),
    "schedule_dropped": Kind(lazy("own steps dropped"), owners=True),
}
_MILL = {
    "rules_changed": Kind(lazy("rules of planning changed"), owners=True),
    "days_off_kept": Kind(lazy("days off kept"), owners=True),
    "days_off_lifted": Kind(lazy("days off lifted"), owners=True),
    "group_kept": Kind(lazy("drying group kept"), owners=True),
    "group_dissolved": Kind(lazy("drying group dissolved"), owners=True),
    "species_moved": Kind(lazy("species moved to another drying group"), owners=True),
}
_CHARGES = {
    "accepted": Kind(lazy("charge accepted"), inverse=_call_off, opposite="called_off", operators=True),
    "loaded": Kind(lazy("checked in")),
    "taken_back": Kind(lazy("taken back out")),
    "started": Kind(lazy("started"), check=_no_run, operators=True),
    "unloaded": Kind(lazy("unloaded")),
    "called_off": Kind(lazy("called off"), check=_days_free, operators=True),
    "schedule_changed": Kind(lazy("steps changed"), operators=True),
    "schedule_restored": Kind(lazy("proposed steps again"), operators=True),
    "fixed": Kind(lazy("fixed for the plan"), operators=True),
    "fixing_lifted": Kind(lazy("fixing lifted"), operators=True),
}
_RUNS = {
    "run_noted": Kind(lazy("run noted"), inverse=_void_record, opposite="run_voided"),
    "pins_left": Kind(lazy("pins left in the wood")),
    "run_voided": Kind(lazy("run record voided")),
    "measured": Kind(lazy("boards measured"), inverse=_void_measurement, opposite="voided"),
    "stress_tested": Kind(lazy("stress test kept"), inverse=_void_test, opposite="test_voided"),
    "looked_again": Kind(lazy("second look at a stress test")),
    "test_voided": Kind(lazy("stress test taken out")),
    "degrade_noted": Kind(lazy("degrade noted")),
    "costs_kept": Kind(lazy("costs of the run kept"), operators=True),
}
_SENSORS = {
    "sensor_added": Kind(lazy("sensor added"), undone=False),
    "sensor_renewed": Kind(lazy("sensor's token made anew"), undone=False),
    "sensor_shut_out": Kind(lazy("sensor shut out"), undone=False),
}
_PAPERS = {
    "paper_issued": Kind(lazy("paper issued"), undone=False),
    "paper_withdrawn": Kind(lazy("paper withdrawn"), undone=False),
    "paper_shown": Kind(lazy("paper shown to whoever has its link"), undone=False),
    "paper_hidden": Kind(lazy("link of a paper ended"), undone=False),
}
"""Tokens and numbers given out can't be called back."""
