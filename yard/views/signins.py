"""Where one is signed in, each ended by a tap; and the first page after an invitation."""

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from yard.actions.people import is_owner
from yard.actions.signins import end_sign_in, sign_ins_of
from yard.models import SignIn


@require_safe
def sign_ins(request: HttpRequest) -> HttpResponse:
    return _page(request, request.user.pk)


@require_safe
def person_sign_ins(request: HttpRequest, pk: int) -> HttpResponse:
    """Another person's, for owners."""
    return _page(request, pk)


def _page(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(get_user_model(), pk=pk)
    context = {
        "person": person,
        "rows": sign_ins_of(person, timezone.now()),
        "here": request.session.session_key,
        "today": timezone.localdate(),
    }
    return render(request, "yard/sign_ins.html", context)


@require_POST
def sign_in_end(request: HttpRequest, pk: int) -> HttpResponse:
    """One's own; owners end anybody's."""
    row = get_object_or_404(SignIn.objects.select_related("user"), pk=pk)
    if row.user != request.user and not is_owner(request.user):
        raise PermissionDenied(_("Only an owner of the yard sees or changes this."))
    mine = row.user == request.user
    end_sign_in(sign_in=row, by=request.user, at=timezone.now())
    messages.success(request, _("Ended. What that device holds of the yard goes when it next has reception."))
    return redirect("sign_ins") if mine else redirect("person_sign_ins", row.user.pk)


@require_safe
def begin(request: HttpRequest) -> HttpResponse:
    """After an invitation: put the app on the home screen, then go to work."""
    return render(request, "yard/begin.html", {"agent": request.headers.get("User-Agent", "")})
