"""Who was invited chooses a name and a password, and is signed in at once."""

from http import HTTPStatus

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import get_language
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from yard.actions.invitations import open_invitation, take_invitation
from yard.actions.language import choose
from yard.actions.signins import MODEL_BACKEND
from yard.forms.person import TakeInvitationForm


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """The token is 192 bits of chance, which nobody guesses; config/middleware/limits.py counts by address."""
    found = open_invitation(token, timezone.now())
    if found is None:
        return _told(render(request, "yard/invitation_over.html", status=HTTPStatus.GONE))
    form = TakeInvitationForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            person = take_invitation(token=token, name=given["name"], password=given["password"], at=timezone.now())
        except ValidationError as error:
            form.add_error("name", error)
        else:
            choose(language=get_language() or "", by=person)
            login(request, person, backend=MODEL_BACKEND)
            return _told(redirect("begin"))
    context = {"form": form, "invited": found}
    return _told(render(request, "yard/invitation.html", context, status=422 if form.errors else 200))


def _told(response: HttpResponse) -> HttpResponse:
    """The address is a key: it is told to no other site. To this one it is, or a browser sends its form from nowhere,
    which is refused."""
    response["Referrer-Policy"] = "same-origin"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response
