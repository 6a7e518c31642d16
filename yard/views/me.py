"""What each person sets for themselves: language and units."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.translation import gettext as _

from yard.actions import language
from yard.forms.language import LanguageForm
from yard.models import UnitSystem


def me(request: HttpRequest) -> HttpResponse:
    person = language.person_of(request.user)
    set_now = {"language": language.language_of(request.user), "units": person.units if person else UnitSystem.METRIC}
    form = LanguageForm(request.POST if request.method == "POST" else None, initial=set_now)
    if request.method == "POST" and form.is_valid():
        language.choose(**form.cleaned_data, by=request.user)
        with translation.override(form.cleaned_data["language"] or translation.get_language()):
            messages.success(request, _("Kept: it counts from now on."))
        response = redirect("me")
        if not form.cleaned_data["language"]:
            response.delete_cookie(settings.LANGUAGE_COOKIE_NAME, samesite="Lax")
        return response
    return render(request, "yard/me.html", {"form": form}, status=422 if form.errors else 200)
