"""Signing in: name and password, then a code where the person has set up a second factor.

The code is asked of the same backends as a password, so that wrong ones slow the sign-in down just the same.
"""

from typing import Any

from django.contrib.auth import authenticate, get_user_model, login
from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from yard.actions.second_factor import has_factor, is_code_of
from yard.actions.signins import MODEL_BACKEND
from yard.forms.second_factor import WRONG, CodeForm

WAITS = "signing_in"
LASTS_SECONDS = 300


class CodeBackend(ModelBackend):
    """Lets in by the code of a second factor; whose password was right is for the view to know."""

    def authenticate(
        self, request: HttpRequest | None, username: str | None = None, password: str | None = None, **more: Any
    ) -> Any:
        code = more.get("code", "")
        if not code:
            return None
        person = get_user_model().objects.filter(username=username).first()
        return person if person and self.user_can_authenticate(person) and is_code_of(person, code) else None


class SignIn(LoginView):
    redirect_authenticated_user = True

    def form_valid(self, form: Any) -> HttpResponse:
        person = form.get_user()
        if not has_factor(person):
            return super().form_valid(form)
        at = timezone.now().timestamp()
        self.request.session[WAITS] = {"person": person.pk, "at": at, "next": self.get_success_url()}
        return redirect("sign_in_code")


@login_not_required
@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step, within five minutes of the first. `?recovery=1` asks for a recovery code instead."""
    known = request.session.get(WAITS)
    if request.user.is_authenticated or not known or timezone.now().timestamp() - known["at"] > LASTS_SECONDS:
        request.session.pop(WAITS, None)
        return redirect("login")
    is_recovery = "recovery" in request.GET
    form = CodeForm(request.POST if request.method == "POST" else None, recovery=is_recovery)
    if request.method == "POST" and form.is_valid():
        whose = get_user_model().objects.get(pk=known["person"])
        person = authenticate(request, username=whose.get_username(), code=form.cleaned_data["code"])
        if person is not None:
            del request.session[WAITS]
            login(request, person, backend=MODEL_BACKEND)
            return redirect(known["next"])
        form.add_error("code", WRONG)
    context = {"form": form, "is_recovery": is_recovery}
    return render(request, "registration/code.html", context, status=422 if form.errors else 200)
