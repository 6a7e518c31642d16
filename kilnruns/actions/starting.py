"""The door is closed and the run begins: told at the kiln or, where there is no reception, some time after it."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from kilnruns.models import Charge, ChargeStack
from yard.actions import stacks as yard
from yard.models.tagcode import shown


@transaction.atomic
def start(*, charge: Charge, by: Any, at: datetime, inside: Collection[int] | None = None) -> str:
    """The run's days count from `at`; what was not checked in is released for later plans. Gives what to say of it.

    `inside`: keys of the stacks that were in, as the one who closed the door saw it on a phone. Raises ValidationError
    where that is not what the yard knows, or where nothing is in. Told twice, the earlier start counts.
    """
    charge = Charge.objects.select_for_update().get(pk=charge.pk)
    items = list(charge.stacks.select_related("stack"))
    if charge.state == "drying":
        return _told_before(charge, items, at)
    if charge.state != "loading":
        raise ValidationError(_not_now(charge))
    if inside is not None:
        _refuse_loaded_otherwise(items, inside, at)
    yard.release(stacks=[item.stack for item in items if not item.loaded_at], by=by, at=at)
    charge.stacks.filter(loaded_at=None).delete()
    _counts_from(charge, at)
    return _("Started. Weigh the sample boards tomorrow.")


def _counts_from(charge: Charge, at: datetime) -> None:
    charge.started_at, charge.start_on = at, timezone.localdate(at)
    charge.save(update_fields=["started_at", "start_on"])


def _told_before(charge: Charge, items: Sequence[ChargeStack], at: datetime) -> str:
    """Another phone told it before: whoever was there first knows, unless a stack went in after that."""
    kept = charge.started_at
    if kept and at < kept and all(item.loaded_at and item.loaded_at <= at for item in items):
        _counts_from(charge, at)
        return _("It was told already, as of %(then)s. The earlier start counts: %(now)s.") % {
            "then": _moment(kept),
            "now": _moment(at),
        }
    return _("It was started already, %(then)s: that counts.") % {"then": _moment(kept)}


def _moment(at: datetime | None) -> str:
    return date_format(timezone.localtime(at), "j F, H:i") if at else ""


def _not_now(charge: Charge) -> str:
    if charge.called_off_at:
        return _("This charge was called off.")
    if charge.unloaded_at:
        return _("This charge was unloaded already.")
    return _("Check in at least one stack first.")


def _refuse_loaded_otherwise(items: Sequence[ChargeStack], inside: Collection[int], at: datetime) -> None:
    """What is in there but not checked in would be dried and yet be free for the next plan."""
    lacking = [item for item in items if item.stack_id in inside and not item.loaded_at]
    if lacking:
        text = _("By the phone %(codes)s stood in the kiln, but the yard does not know it to be in. Check it in first.")
        raise ValidationError(text % {"codes": _codes(lacking)})
    late = [item for item in items if item.loaded_at and item.loaded_at > at]
    if late:
        text = _("%(codes)s was checked in after the door was closed. Is it in there? If not, take it back first.")
        raise ValidationError(text % {"codes": _codes(late)})


def _codes(items: Sequence[ChargeStack]) -> str:
    return ", ".join(shown(item.stack.code) for item in items)
