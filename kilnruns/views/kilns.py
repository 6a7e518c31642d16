"""A kiln: making it, changing it, closing it for days."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kilnruns.actions.kilns import save_kiln
from kilnruns.forms.kiln import ClosureForm, KilnForm
from kilnruns.models import Closure, Kiln
from yard.actions.people import is_owner, owners_only


def kiln_page(request: HttpRequest, kiln: Kiln, form: KilnForm, closure: ClosureForm, status: int) -> HttpResponse:
    context = {"kiln": kiln, "form": form, "closure_form": closure, "closures": kiln.closures.all()}
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
def kiln_closures(request: HttpRequest, pk: int) -> HttpResponse:
    kiln = get_object_or_404(Kiln.objects.select_related("place"), pk=pk)
    form = ClosureForm(request.POST, instance=Closure(kiln=kiln))
    if form.is_valid():
        form.save()
        messages.success(request, _("Kept. The next plan leaves these days free."))
        return redirect("kiln", pk=pk)
    return kiln_page(request, kiln, KilnForm(instance=kiln), form, 422)


@require_POST
@owners_only
def closure_lift(request: HttpRequest, pk: int) -> HttpResponse:
    closure = get_object_or_404(Closure, pk=pk)
    closure.delete()
    messages.success(request, _("Lifted. The next plan may use these days."))
    return redirect("kiln", pk=closure.kiln_id)
