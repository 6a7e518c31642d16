"""What was learned of a species in a place, looked into; a stack left out and put back; a reset."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from yard import outlook
from yard.actions import learning as actions
from yard.forms.learning import LeaveOutForm, PutBackForm, ResetForm
from yard.models import LearningChange, Place, PlaceKind, Species
from yard.views.standing import any_stack


@require_safe
def learned_kind(request: HttpRequest, key: str, pk: int) -> HttpResponse:
    species = get_object_or_404(Species, key=key)
    place = get_object_or_404(Place.objects.exclude(kind=PlaceKind.KILN), pk=pk)
    known = outlook.knowledge()
    kind = known.kind(species, place)
    told = sorted(kind.told, key=lambda one: one.stack.outlook.as_of, reverse=True)
    context = {
        "kind": kind,
        "counting": [one for one in told if one.counts],
        "others": [one for one in told if not one.counts],
        "far": {one.stack.pk for one in told if known.is_far(one.stack)},
        "today": timezone.localdate(),
    }
    return render(request, "yard/learned_kind.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def learned_stack(request: HttpRequest, code: str) -> HttpResponse:
    """Leave a stack out, or put it back: whichever it isn't."""
    stack = any_stack(code)
    last = LearningChange.objects.filter(stack=stack).select_related("by").first()
    is_out = last is not None and last.kind == LearningChange.Kind.LEFT_OUT
    given = request.POST if request.method == "POST" else None
    form: Any = PutBackForm(given) if is_out else LeaveOutForm(given)
    if request.method == "POST" and form.is_valid() and _keep(stack, form, is_out, request):
        return redirect("learned")
    context = {"stack": stack, "form": form, "is_out": is_out, "last": last}
    return render(request, "yard/learned_stack.html", context, status=422 if form.errors else 200)


def _keep(stack: Any, form: Any, is_out: bool, request: HttpRequest) -> bool:
    """Whether it was kept; else the form says why not."""
    given = {"stack": stack, "by": request.user, "at": timezone.now()}
    try:
        if is_out:
            actions.put_back(reason=form.cleaned_data["reason"], **given)
            messages.success(request, _("It counts again. The forecasts follow."))
        else:
            actions.leave_out(reason=form.reason(), **given)
            messages.success(request, _("Left out. The forecasts follow; you can put it back at any time."))
    except ValidationError as error:
        form.add_error(None, error)
        return False
    return True


@require_http_methods(["GET", "HEAD", "POST"])
def learned_reset(request: HttpRequest) -> HttpResponse:
    if not request.user.is_staff:
        raise PermissionDenied(_("Only an owner may reset what was learned."))
    given = request.POST if request.method == "POST" else None
    form = ResetForm(given, known=outlook.knowledge(), initial={"what": request.GET.get("what", "")})
    if request.method == "POST" and form.is_valid():
        species, place = form.about()
        reason = form.cleaned_data["reason"]
        actions.reset(species=species, place=place, reason=reason, by=request.user, at=timezone.now())
        messages.success(request, _("Forgotten. What is read from tomorrow on teaches anew."))
        return redirect("learned")
    return render(request, "yard/learned_reset.html", {"form": form}, status=422 if form.errors else 200)
