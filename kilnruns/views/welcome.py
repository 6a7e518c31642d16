"""The first run: an empty yard gets its owner, its mill, a place and a kiln. Gone as soon as there is a user."""

from typing import Any

from django.contrib.auth import get_user_model, login
from django.contrib.auth.decorators import login_not_required
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from kilnruns.actions.kilns import save_kiln
from kilnruns.forms.kiln import KilnForm
from kilnruns.forms.welcome import FirstPlaceForm, MillForm, OwnerForm
from yard.actions.language import choose
from yard.actions.signins import MODEL_BACKEND

SMALL_KILN = {
    "loading": "hand",
    "length_mm": 4200,
    "width_mm": 1200,
    "height_mm": 1200,
    "longest_board_mm": 4200,
    "sticker_mm": 20,
    "max_temperature_c": 60,
    "heater_kw": 6,
    "heater_phases": 3,
    "fan_kw": 0.25,
    "wall_u_w_m2k": 0.5,
    "may_split": True,
    "cost_per_day": 5,
    "price_per_kwh": 0.3,
}


def welcome_forms(request: HttpRequest) -> dict[str, Any]:
    data = request.POST or None
    return {
        "owner_form": OwnerForm(data, prefix="owner"),
        "mill_form": MillForm(data, prefix="mill"),
        "place_form": FirstPlaceForm(data, prefix="place"),
        "kiln_form": KilnForm(data, prefix="kiln", initial=SMALL_KILN),
    }


@transaction.atomic
def make_yard(forms: dict[str, Any]) -> Any:
    """Save all four together. Raises Http404 where somebody else has become the owner meanwhile."""
    if get_user_model().objects.exists():
        raise Http404
    owner = forms["owner_form"].save(commit=False)
    owner.is_staff = owner.is_superuser = True
    owner.save()
    choose(language=get_language() or "", by=owner)
    mill = forms["mill_form"].save(commit=False)
    mill.pk = 1
    mill.save()
    forms["place_form"].save()
    save_kiln(kiln=forms["kiln_form"].save(commit=False), name=forms["kiln_form"].cleaned_data["name"], by=owner)
    return owner


def all_valid(forms: dict[str, Any]) -> bool:
    """Whether all four are; each is looked through, so that all errors show at once."""
    valid = [form.is_valid() for form in forms.values()]
    if not all(valid):
        return False
    kiln, place = (forms[name].cleaned_data["name"].lower() for name in ("kiln_form", "place_form"))
    if kiln == place:
        forms["kiln_form"].add_error("name", _("The place above has this name; call the kiln something else."))
        return False
    return True


@login_not_required
def welcome(request: HttpRequest) -> HttpResponse:
    if get_user_model().objects.exists():
        return redirect("login")
    forms = welcome_forms(request)
    if request.method == "POST" and all_valid(forms):
        login(request, make_yard(forms), backend=MODEL_BACKEND)
        return redirect("tags")
    status = 422 if any(form.errors for form in forms.values()) else 200
    return render(request, "kilnruns/welcome.html", forms, status=status)
