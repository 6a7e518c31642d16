"""What is said of a charge where a form about it has to be sorted out."""

from collections.abc import Mapping
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kilnruns.models import Charge
from yard.models.tagcode import shown
from yard.receipts.others import Standing

TITLES = {
    "charge_start": gettext_lazy("Start of the run"),
    "run_record_new": gettext_lazy("Kiln visit"),
    "charge_measure": gettext_lazy("Final measurement"),
    "charge_stress": gettext_lazy("Stress test"),
    "charge_look_again": gettext_lazy("Second look at prongs"),
    "stress_test": gettext_lazy("Second look at prongs"),
    "charge_degrade": gettext_lazy("Degrade"),
}


def standing(parts: Mapping[str, Any]) -> Standing | None:
    """The charge of an address, or of the stress test that it names; two queries."""
    charges = Charge.objects.select_related("kiln__place").prefetch_related("stacks__stack")
    wanted = {"stress_tests": parts["pk"]} if parts.get("of_test") else {"pk": parts["pk"]}
    charge = charges.filter(**wanted).first()
    if charge is None:
        return None
    name = _("%(kiln)s from %(day)s") % {"kiln": charge.kiln, "day": date_format(charge.start_on, "j F")}
    return Standing(charge.get_absolute_url(), name, [_state(charge), *_stacks(charge)])


def of_test(parts: Mapping[str, Any]) -> Standing | None:
    return standing({**parts, "of_test": True})


def _state(charge: Charge) -> str:
    if charge.called_off_at:
        return _("Called off %(when)s") % {"when": _moment(charge.called_off_at)}
    if charge.unloaded_at:
        return _("Unloaded %(when)s") % {"when": _moment(charge.unloaded_at)}
    if charge.started_at:
        return _("Running since %(when)s") % {"when": _moment(charge.started_at)}
    return _("Not started")


def _moment(at: Any) -> str:
    return date_format(timezone.localtime(at), "j F, H:i")


def _stacks(charge: Charge) -> list[str]:
    """Which are in, and which are not; nothing where that no longer matters."""
    if charge.called_off_at or charge.unloaded_at:
        return []
    items = list(charge.stacks.all())
    inside = [shown(item.stack.code) for item in items if item.loaded_at and not item.unloaded_at]
    outside = [shown(item.stack.code) for item in items if not item.loaded_at]
    told = [_("In the kiln: %(codes)s") % {"codes": ", ".join(inside) or "–"}]
    return told + ([_("Not checked in: %(codes)s") % {"codes": ", ".join(outside)}] if outside else [])
