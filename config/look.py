"""How the pages look on this phone: as it says itself, light or dark, or for full sun.

Kept in the browser and not with the person: the phone is out in the sun, the same person's screen in the office is not.
Any script may read it, so that the page that is drawn without reception looks the same.
"""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from yard import cookies

COOKIE = "look"
SUN = "sun"


class LookForm(forms.Form):
    look = forms.ChoiceField(
        label=_("How it looks on this phone"),
        required=False,
        choices=[("", _("light or dark, as the phone says")), (SUN, _("full sun: black on white, thick type"))],
        widget=forms.RadioSelect,
    )


def look(request: HttpRequest) -> dict[str, str]:
    """For every template: the look that was chosen, "" where none was."""
    return {"look": SUN if request.COOKIES.get(COOKIE) == SUN else ""}


@require_http_methods(["GET", "HEAD", "POST"])
def choose(request: HttpRequest) -> HttpResponse:
    form = LookForm(request.POST if request.method == "POST" else None, initial=look(request))
    if request.method != "POST" or not form.is_valid():
        return render(request, "look.html", {"form": form}, status=422 if form.errors else 200)
    response = redirect("look")
    if form.cleaned_data["look"]:
        cookies.keep(request, response, COOKIE, SUN, scripts=True)
    else:
        response.delete_cookie(COOKIE, samesite="Lax")
    return response
