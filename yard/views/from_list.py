"""A new stack out of the sawing list: a line fills the form, and the stack is kept for it once it is made."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from yard import outlook
from yard.actions.needs import keep_sawn
from yard.forms.tally import Tally
from yard.models import MillFigures, Need, NeedLine, Sawn, Stack
from yard.receipts import moment


def lines_to_saw(request: HttpRequest) -> list[outlook.SawLine]:
    """What needs lack, soonest wanted first, by the mill's grain or the one in the address; without needs one query."""
    today, needs = timezone.localdate(), list(Need.objects.open().with_lines())
    if not needs:
        return []
    figures = MillFigures.current()
    if request.GET.get("sawn") in Sawn.values:
        figures.sawn = request.GET["sawn"]
    return outlook.saw_lines(outlook.wanted(needs, today), today, figures)


def line_asked(request: HttpRequest) -> int | None:
    """The line that a form is for: in its address, or in the form once it is sent."""
    text = request.POST.get("for_line") or request.GET.get("line", "")
    return int(text) if text.isdecimal() and len(text) < 10 else None


def chosen(lines: list[outlook.SawLine], request: HttpRequest) -> outlook.SawLine | None:
    asked = line_asked(request)
    return next((one for one in lines if one.line.pk == asked), None)


def filled(offered: dict[str, Any], one: outlook.SawLine, today: date) -> dict[str, Any]:
    """What the last stack offers, with the line's wood, thickness and target; sawn today, to dry where wood dries."""
    place = outlook.usual_place()
    entry = max(offered.get("kiln_entry_pct") or 0.0, one.need.target_pct)
    wood = {"species": one.saw.species.pk, "thickness_mm": one.saw.thickness_mm, "target_pct": one.need.target_pct}
    stood = {"place": place.pk} if place else {}
    return offered | wood | stood | {"kiln_entry_pct": entry, "cut_on": today}


def tally_of(one: outlook.SawLine) -> Tally:
    """Its pieces; of random widths the tally is for whoever counts them."""
    saw = one.saw
    if saw.pieces is None or saw.length_mm is None or saw.width_mm is None:
        return Tally()
    return Tally(lines=[(saw.length_mm, saw.width_mm, saw.pieces)])


def keep_for_line(request: HttpRequest, stack: Stack) -> None:
    """In the transaction that made the stack; where it can't be kept, the stack stands all the same and it is said."""
    asked = line_asked(request)
    if asked is None:
        return
    line = NeedLine.objects.filter(pk=asked, need__met_at=None).select_related("need").first()
    if line is None:
        messages.warning(request, _("What it was sawn for is no longer wanted: the stack is free."))
    elif keep_sawn(line=line, stack=stack, by=request.user, at=moment(request)):
        messages.success(request, _("It is reserved for %(need)s.") % {"need": line.need.name})
    else:
        words = _("It is not reserved for %(need)s: another wood, too thin for it, or nothing is lacking there.")
        messages.warning(request, words % {"need": line.need.name})
