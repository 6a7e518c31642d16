"""A kiln: making it, changing it, closing it for days."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions.kilns import save_kiln
from kilnruns.forms.kiln import ClosureForm, KilnForm
from kilnruns.models import Kiln
from yard.actions.people import is_owner, owners_only


def kiln_page(request: HttpRequest, kiln: Kiln, form: KilnForm, closure: ClosureForm, status: int) -> HttpResponse:
    context = {
        "kiln": kiln,
        "form": form,
        "closure_form": closure,
        "closures": kiln.closures.filter(last_day__gte=timezone.localdate()),
        "is_known": kiln.has_finished_run,
    }
    return render(request, "kilnruns/kiln.html", context, status=status)


@owners_only
def kiln_new(request: HttpRequest) -> HttpResponse:
    form = KilnForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        kiln = save_kiln(kiln=form.save(commit=False), name=form.cleaned_data["name"], by=request.user)
        messages.success(request, _("%(kiln)s is kept. Plan its first charge when stacks are ready.") % {"kiln": kiln})
        return redirect("kilns")
    return render(request, "kilnruns/kiln_new.html", {"form": form}, status=422 if form.errors else 200)


def kiln(request: HttpRequest, pk: int) -> HttpResponse:
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    if request.method == "POST" and not is_owner(request.user):
        return render(request, "403.html", status=403)
    form = KilnForm(request.POST or None, instance=kiln)
    if request.method == "POST" and form.is_valid():
        save_kiln(kiln=form.save(commit=False), name=form.cleaned_data["name"], by=request.user)
        messages.success(request, _("Kept. The next plan counts with it."))
        return redirect("kiln", pk=pk)
    return kiln_page(request, kiln, form, ClosureForm(), 422 if form.errors else 200)


@require_POST
@owners_only
def kiln_trust(request: HttpRequest, pk: int) -> HttpResponse:
    """POST trusted=yes or no: plan a kiln without a finished run as any other, or with an easy charge first."""
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    kiln.trusted = request.POST.get("trusted") == "yes"
    kiln.save(update_fields=["trusted"])
    as_any, easy = _("The next plan treats %(kiln)s as any other."), _("%(kiln)s gets an easy charge first.")
    said = as_any if kiln.trusted else easy
    messages.success(request, said % {"kiln": kiln})
    return redirect("kiln", pk=pk)
