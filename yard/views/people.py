"""People: who may sign in. For owners."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST
from django_otp.plugins.otp_totp.models import TOTPDevice

from yard.actions import invitations, second_factor
from yard.actions import people as actions
from yard.actions.people import owners_only
from yard.forms.person import ROLES, InviteForm, PersonForm, RoleForm
from yard.labels.symbol import screen_path
from yard.models import Invitation


def page(request: HttpRequest, form: PersonForm, given: dict[str, str] | None = None, **more: Any) -> HttpResponse:
    """`given` is a name and a password to show this once."""
    protected = Exists(TOTPDevice.objects.filter(user=OuterRef("pk"), confirmed=True))
    everyone = get_user_model().objects.select_related("person").annotate(has_factor=protected)
    now = timezone.now()
    invited = Invitation.objects.filter(used_at=None, withdrawn_at=None, expires_at__gt=now).select_related("made_by")
    context = {
        "form": form,
        "everyone": everyone.order_by("-is_active", "username"),
        "given": given,
        "invited": invited,
        "invite": InviteForm(),
        "roles": ROLES,
        **more,
    }
    return render(request, "yard/people.html", context, status=422 if form.errors else 200)


@owners_only
def people(request: HttpRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)
    if request.method != "POST" or not form.is_valid():
        return page(request, form)
    name, role = form.cleaned_data["name"], form.cleaned_data["role"]
    try:
        person, password = actions.add_person(name=name, role=role, by=request.user)
    except ValidationError as error:
        form.add_error("name", error)
        return page(request, form)
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
    try:
        actions.set_admitted(person=person, admitted=admitted, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("people")
    said = _("%(name)s may sign in again.") if admitted else _("%(name)s is shut out, on every phone.")
    messages.success(request, said % {"name": person.get_username()})
    return redirect("people")


@require_POST
@owners_only
def person_role(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(get_user_model(), pk=pk)
    form = RoleForm(request.POST)
    if person == request.user:
        messages.error(request, _("Another owner changes what you do."))
    elif form.is_valid():
        try:
            actions.set_role(person=person, role=form.cleaned_data["role"], by=request.user)
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
        else:
            messages.success(request, _("Kept: it counts from now on."))
    return redirect("people")


@require_POST
@owners_only
def person_factor_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End another person's second factor, who has lost it; one's own wants a code."""
    person = get_object_or_404(get_user_model(), pk=pk)
    if person == request.user:
        return redirect("second_factor")
    second_factor.end(person=person, by=request.user)
    messages.success(request, _("Ended: %(name)s signs in with the password alone.") % {"name": person.get_username()})
    return redirect("people")


@require_POST
@owners_only
def person_sessions(request: HttpRequest, pk: int) -> HttpResponse:
    """End where somebody is signed in; of oneself all but this one."""
    person = get_object_or_404(get_user_model(), pk=pk)
    keep = request.session.session_key if person == request.user else None
    count = actions.sign_out_everywhere(person=person, keep=keep, by=request.user)
    words = ngettext("%(n)d sign-in is ended.", "%(n)d sign-ins are ended.", count)
    messages.success(request, words % {"n": count})
    return redirect("people")


@require_POST
@owners_only
def person_invite(request: HttpRequest) -> HttpResponse:
    """The link and its QR are shown this once."""
    form = InviteForm(request.POST)
    if not form.is_valid():
        return page(request, PersonForm(), invite=form)
    token = invitations.invite(role=form.cleaned_data["role"], by=request.user, at=timezone.now())
    address = request.build_absolute_uri(reverse("invitation", args=[token]))
    return page(request, PersonForm(), link={"address": address, "symbol": screen_path(address)})


@require_POST
@owners_only
def invitation_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    invitations.withdraw(invitation=get_object_or_404(Invitation, pk=pk), by=request.user, at=timezone.now())
    messages.success(request, _("Withdrawn: nobody can use it any more."))
    return redirect("people")
