"""One's own second factor: set up, its recovery codes, given up."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from yard.actions import second_factor as actions
from yard.forms.second_factor import WRONG, CodeForm, ConfirmForm
from yard.labels.symbol import screen_path


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def second_factor(request: HttpRequest) -> HttpResponse:
    """Where there is none, POST its first code with the password: the recovery codes are shown this once."""
    if actions.has_factor(request.user):
        return _kept(request, CodeForm())
    form = ConfirmForm(request.POST if request.method == "POST" else None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            codes = actions.confirm(person=request.user, code=form.cleaned_data["code"], by=request.user)
        except ValidationError as error:
            form.add_error("code", error)
        else:
            return _shown(request, codes)
    device = actions.offered(request.user)
    context = {
        "form": form,
        "symbol": screen_path(device.config_url),
        "link": device.config_url,
        "secret": actions.secret_of(device),
    }
    return render(request, "yard/second_factor_new.html", context, status=422 if form.errors else 200)


@never_cache
@require_POST
def second_factor_codes(request: HttpRequest) -> HttpResponse:
    """POST a code: ten new recovery codes, shown this once."""
    form = _checked(request)
    if form.errors:
        return _kept(request, form)
    return _shown(request, actions.renew_codes(person=request.user, by=request.user))


@require_POST
def second_factor_end(request: HttpRequest) -> HttpResponse:
    """POST a code: the password alone is asked for from then on."""
    form = _checked(request)
    if form.errors:
        return _kept(request, form)
    actions.end(person=request.user, by=request.user)
    messages.success(request, _("Ended: your password alone signs you in now."))
    return redirect("second_factor")


def _checked(request: HttpRequest) -> CodeForm:
    form = CodeForm(request.POST)
    if form.is_valid() and not actions.is_code_of(request.user, form.cleaned_data["code"]):
        form.add_error("code", WRONG)
    return form


def _kept(request: HttpRequest, form: CodeForm) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "left": actions.codes_left(request.user)}
    return render(request, "yard/second_factor.html", context, status=422 if form.errors else 200)


def _shown(request: HttpRequest, codes: list[str]) -> HttpResponse:
    return render(request, "yard/second_factor_codes.html", {"codes": codes})
