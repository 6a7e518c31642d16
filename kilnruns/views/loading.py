"""Loading and unloading by scanning: each tag read moves its stack into or out of the kiln."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns import advice
from kilnruns.actions import charges as actions
from kilnruns.actions import starting
from kilnruns.forms.loading import TagForm, UnloadForm
from kilnruns.models import Charge
from kilnruns.views.charges import found
from kilnruns.views.meanwhile import keep_to_sort_out
from yard.models import Board, Place, PlaceKind, Tag
from yard.models.tagcode import normalise, shown
from yard.receipts import is_settling, moment


def remember(request: HttpRequest, charge: Charge, url_name: str) -> None:
    """Keep in the session which charge is in hand, so that a scanned stack's page can offer to check it in or out."""
    items = charge.stacks.all()
    boards = Board.objects.filter(stack__in=[item.stack_id for item in items])
    request.session["loading"] = {
        "charge": charge.pk,
        "url_name": url_name,
        "codes": [item.stack.code for item in items],
        "boards": dict(boards.values_list("code", "stack__code")),
        "name": str(charge.kiln),
    }


def told_already(request: HttpRequest, error: ValidationError) -> bool:
    """Whether another phone told the same before: nothing is to be mended, and it is only said."""
    if getattr(error, "code", "") != actions.ALREADY:
        return False
    messages.info(request, error.messages[0])
    return True


def said(form: TagForm, done: str) -> str:
    """What was done, after the board whose tag was read: the loader held one thing and the yard notes another."""
    if form.board is None:
        return done
    return _("Board %(board)s lies in this stack.") % {"board": shown(form.board.code)} + " " + done


def dry_store() -> int | None:
    """Where dry wood usually goes: the first closed store."""
    return Place.objects.outdoors().filter(kind=PlaceKind.CLOSED_STORE).values_list("pk", flat=True).first()


def _page(request: HttpRequest, charge: Charge, form: Any, template: str, refused: Sequence[str] = ()) -> HttpResponse:
    items = list(charge.stacks.all())
    context = {
        "charge": charge,
        "form": form,
        "refused": refused,
        "items": items,
        "kg_per_m3": advice.kg_per_m3([item.stack for item in items], charge.start_on),
        "loaded": sum(1 for item in items if item.loaded_at),
        "unloaded": sum(1 for item in items if item.unloaded_at),
    }
    return render(request, template, context, status=422 if form.errors or refused else 200)


def charge_loading(request: HttpRequest, pk: int) -> HttpResponse:
    charge = found(pk)
    if charge.state in ("planned", "loading"):
        remember(request, charge, "charge_loading")
    form = TagForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            item = actions.load(charge=charge, stack=form.cleaned_data["code"], by=request.user, at=moment(request))
        except ValidationError as error:
            if told_already(request, error):
                return redirect("charge_loading", pk=pk)
            form.add_error("code", error)
        else:
            messages.success(request, said(form, _("%(code)s is in.") % {"code": shown(item.stack.code)}))
            return redirect("charge_loading", pk=pk)
    return _page(request, charge, form, "kilnruns/charge_loading.html")


@require_POST
def charge_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    charge = found(pk)
    form = TagForm(request.POST)
    if not form.is_valid():
        return _page(request, charge, form, "kilnruns/charge_loading.html")
    stack = form.cleaned_data["code"]
    try:
        actions.take_back(charge=charge, stack=stack, by=request.user, at=moment(request))
    except ValidationError as error:
        form.add_error("code", error)
        return _page(request, charge, form, "kilnruns/charge_loading.html")
    messages.success(request, said(form, _("%(code)s is out again.") % {"code": shown(stack.code)}))
    return redirect("charge_loading", pk=pk)


@require_POST
def charge_start(request: HttpRequest, pk: int) -> HttpResponse:
    """The door is closed, now or some time ago where there was no reception; `inside`: the tags that were in then."""
    codes = [normalise(code) for code in request.POST.getlist("inside")]
    inside = set(Tag.objects.filter(code__in=codes).exclude(stack=None).values_list("stack", flat=True))
    charge, is_checked = found(pk), bool(codes) and not is_settling(request)
    try:
        said = starting.start(charge=charge, by=request.user, at=moment(request), inside=inside if is_checked else None)
    except ValidationError as error:
        keep_to_sort_out(request, error)
        return _page(request, charge, TagForm(), "kilnruns/charge_loading.html", error.messages)
    request.session.pop("loading", None)
    messages.success(request, said)
    return redirect(charge)


def charge_unloading(request: HttpRequest, pk: int) -> HttpResponse:
    charge = found(pk)
    if charge.state == "drying":
        remember(request, charge, "charge_unloading")
    initial = {"place": request.session.get("unload_place") or dry_store(), "code": request.GET.get("code", "")}
    form = UnloadForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        place = form.cleaned_data["place"]
        request.session["unload_place"] = place.pk
        stack = form.cleaned_data["code"]
        try:
            actions.unload(charge=charge, stack=stack, place=place, by=request.user, at=moment(request))
        except ValidationError as error:
            if told_already(request, error):
                return redirect("charge_unloading", pk=pk)
            form.add_error("code", error)
        else:
            words = {"code": shown(stack.code), "place": place}
            messages.success(request, said(form, _("%(code)s is out and stands in %(place)s.") % words))
            return redirect("charge_unloading", pk=pk)
    return _page(request, charge, form, "kilnruns/charge_unloading.html")
