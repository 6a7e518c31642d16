"""What of a run in hand needs somebody at once, whatever the hour."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.utils import timezone

from kilnruns import running
from kilnruns.models import Charge, Quantity, RunRecord, SensorSeries
from kilnruns.reminding.due import Due

FRESH = timedelta(minutes=30)
"""What was seen longer ago is not now."""
WITHOUT_DELAY = ("fans_off", "wood_too_hot", "stress_ahead", "too_fast")
"""What harms wood or kiln within hours."""
ABOVE_C = 1.0
"""So far a thermostat may swing above what is set: common practice, no source."""


def act_now(at: datetime) -> list[Due]:
    """Runs hotter than their kiln may be, by a sensor or by what was last recorded, and what else the watch over a run
    wants done without delay; in a fixed number of queries."""
    started = Charge.objects.ahead().filter(started_at__isnull=False, started_at__lte=at)
    found = []
    related = ("stacks__stack__species", "stacks__stack__outlook")
    charges = list(started.select_related("kiln__place").prefetch_related(*related))
    hottest = _hottest(charges, at) if charges else {}
    for charge in charges:
        seen_c = hottest.get(charge.pk)
        if seen_c is not None and seen_c > charge.kiln.max_temperature_c + ABOVE_C:
            on = timezone.localdate(at)
            found.append(Due(f"hot-{charge.pk}", "hot", on, on, {"charge": charge, "seen_c": seen_c}))
    return [*found, *_watched(charges, at)]


def _watched(charges: list[Charge], at: datetime) -> Iterator[Due]:
    """What the runs' own watch says shall be acted on and brooks no delay."""
    on, outside = timezone.localdate(at), running.outside_c(at) if charges else 0.0
    for run in running.read_all(charges):
        if not run.stacks:
            continue
        setting = running.next_thing(run, at, outside).setting
        for one in running.watches(run, setting, at):
            if one.level == "act" and one.code in WITHOUT_DELAY:
                yield Due(f"{one.code}-{run.charge.pk}", "watch", on, on, {"charge": run.charge, "watch": one})


def _hottest(charges: list[Charge], at: datetime) -> dict[int, float]:
    """By charge: the highest dry bulb seen of late, °C."""
    hottest: dict[int, float] = {}
    for key, value in (*_recorded(charges, at), *_measured(charges, at)):
        hottest[key] = max(value, hottest.get(key, value))
    return hottest


def _recorded(charges: list[Charge], at: datetime) -> Iterator[tuple[int, float]]:
    """The last record of the dry bulb alone: a later, cooler one lays the matter to rest."""
    records = RunRecord.objects.valid().filter(charge__in=charges, at__range=(at - FRESH, at), dry_bulb_c__isnull=False)
    for key, value in dict(records.order_by("at", "pk").values_list("charge", "dry_bulb_c")).items():
        if value is not None:
            yield key, value


def _measured(charges: list[Charge], at: datetime) -> Iterator[tuple[int, float]]:
    by_kiln = {charge.kiln_id: charge for charge in charges}
    series = SensorSeries.objects.filter(
        device__kiln__in=by_kiln,
        device__shut_out_at=None,
        quantity=Quantity.DRY_BULB,
        last_second__range=(int((at - FRESH).timestamp()), int(at.timestamp())),
    )
    for row in series.select_related("device"):
        charge = by_kiln[row.device.kiln_id]
        if row.last_value is not None:
            yield charge.pk, row.last_value
