"""Scanning: a typed code or a photo leads to the tag's page."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from yard.forms.tag import ScanForm
from yard.labels import read_photo


@require_http_methods(["GET", "HEAD", "POST"])
def scan(request: HttpRequest) -> HttpResponse:
    """A code or a photo in, the tag's page out; several tags in one photo are offered to choose from."""
    if request.method != "POST":
        return render(request, "yard/scan.html", {"form": ScanForm(initial={"code": request.GET.get("code", "")})})
    form = ScanForm(request.POST, request.FILES)
    codes = found_codes(form) if form.is_valid() else []
    if len(codes) == 1:
        return redirect("tag", code=codes[0])
    return render(request, "yard/scan.html", {"form": form, "codes": codes}, status=422 if form.errors else 200)


def found_codes(form: ScanForm) -> list[str]:
    """The typed code, or the codes in the photo; none leaves an error at the photo."""
    cleaned: dict[str, Any] = form.cleaned_data
    if cleaned.get("code"):
        return [cleaned["code"]]
    codes = read_photo(cleaned["photo"])
    if not codes:
        form.add_error(
            "photo",
            _("No tag can be read in that photo. Go closer, hold still, show a whole square; or type the code."),
        )
    return codes
