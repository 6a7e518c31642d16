"""People: who may sign in. For owners."""

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from yard.actions import people as actions
from yard.actions.people import owners_only
from yard.forms.person import PersonForm


def page(request: HttpRequest, form: PersonForm, given: dict[str, str] | None = None) -> HttpResponse:
    """`given` is a name and a password to show this once."""
    everyone = get_user_model().objects.order_by("-is_active", "username")
    context = {"form": form, "everyone": everyone, "given": given}
    return render(request, "yard/people.html", context, status=422 if form.errors else 200)


@owners_only
def people(request: HttpRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)
    if request.method != "POST" or not form.is_valid():
        return page(request, form)
    person, password = actions.add_person(
        name=form.cleaned_data["name"], owner=form.cleaned_data["owner"], by=request.user
    )
    return page(request, PersonForm(), {"name": person.get_username(), "password": password})


@require_POST
@owners_only
def person_password(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(get_user_model(), pk=pk)
    password = actions.renew_password(person=person, by=request.user)
    return page(request, PersonForm(), {"name": person.get_username(), "password": password})


@require_POST
@owners_only
def person_admission(request: HttpRequest, pk: int) -> HttpResponse:
    """POST admitted=yes or no. Nobody shuts themselves out, so one owner always remains."""
    person = get_object_or_404(get_user_model(), pk=pk)
    admitted = request.POST.get("admitted") == "yes"
    if person == request.user:
        messages.error(request, _("You can't shut yourself out; another owner can."))
        return redirect("people")
    actions.set_admitted(person=person, admitted=admitted, by=request.user)
    said = _("%(name)s may sign in again.") if admitted else _("%(name)s is shut out, on every phone.")
    messages.success(request, said % {"name": person.get_username()})
    return redirect("people")
