"""The yard's own forms, unbound and without choices out of the yard, for pages that hold nobody's data.

static/js/offline_form.js fills in species, places, boards and first values from the phone's copy.
"""

from datetime import date, datetime
from types import SimpleNamespace
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kilnruns.forms.closing import DegradeForm, GapForm, MeasurementForm, ProngForm, RestedForm
from kilnruns.forms.loading import TagForm
from kilnruns.forms.run_record import RunRecordForm
from yard.forms.note import NoteForm
from yard.forms.photo import PhotoForm
from yard.forms.reading import FORMS
from yard.forms.sample import SampleForm
from yard.forms.stack import StackForm
from yard.forms.tag import ScanForm
from yard.forms.tally import Tally
from yard.models import Board, Method, Stack


def offline_forms() -> dict[str, Any]:
    """By the name under which the templates of templates/pwa/offline/ know them."""
    return {
        "pins": _reading(Method.PINS),
        "capacitance": _reading(Method.CAPACITANCE),
        "oven_dry": _reading(Method.OVEN_DRY),
        "weighing": _reading(Method.SAMPLE_BOARD),
        "stack_form": _stack(),
        "tally": Tally(lines=[]),
        "note_form": NoteForm(),
        "photo_form": PhotoForm(),
        "scan_form": ScanForm(),
        "tag_form": TagForm(),
        "run_form": RunRecordForm(),
        "prong_form": _test(ProngForm, "prong_%s"),
        "gap_form": _test(GapForm, "gap_%s"),
        "rested_form": RestedForm(auto_id="rested_{look}_%s"),
        "measure_form": MeasurementForm(),
        "degrade_form": DegradeForm(),
        "sample_form": SampleForm(stack=Stack()),
    }


def _reading(method: str) -> forms.Form:
    """As for a stack without boards or sample boards; a board is chosen where the copy knows some."""
    stack: Any = SimpleNamespace(boards=SimpleNamespace(all=Board.objects.none), sample_boards=Board.objects.none())
    form = FORMS[method](stack=stack, now=datetime.min)
    if method in (Method.PINS, Method.CAPACITANCE):
        form.fields["board"] = forms.ChoiceField(label=_("Board"), required=False, choices=[("", _("the stack"))])
    if method == Method.PINS:
        temperature = form.fields["wood_temperature_c"]
        temperature.help_text = _("Left empty, the season's mean here is taken.")
        temperature.widget.attrs.pop("placeholder")
    return form


def _test(kind: type[ProngForm] | type[GapForm], ids: str) -> forms.Form:
    """A stress test without its stacks, which the copy knows; both kinds stand on one page."""
    form = kind(auto_id=ids, stacks=[])
    del form.fields["stack"]
    return form


def _stack() -> StackForm:
    form = StackForm(today=date.min, initial={})
    del form.fields["place"]  # as buttons, whatever their number
    form.fields["cut_on"].widget.attrs.pop("max")
    form.fields["species"].choices = [("", _("Choose the species"))]  # type: ignore[attr-defined]
    form.initial = {}
    return form
