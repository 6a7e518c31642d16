"""Help in place: what the figures mean, how to read right, and the first day's guide."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from yard import cookies, firstday
from yard.explained import EXPLAINED


@require_safe
def help_page(request: HttpRequest) -> HttpResponse:
    return render(request, "yard/help.html", {"explained": EXPLAINED.values()})


@require_http_methods(["GET", "HEAD", "POST"])
def first_day(request: HttpRequest) -> HttpResponse:
    """The guide by itself; sent, it is put away from Today in this browser, or put back."""
    if request.method != "POST":
        return render(
            request, "yard/first_day.html", {"guide": firstday.guide(), "is_away": firstday.is_put_away(request)}
        )
    response = redirect("today")
    if "back" in request.POST:
        response.delete_cookie(firstday.AWAY, samesite="Lax")
    else:
        cookies.keep(request, response, firstday.AWAY, "away")
    return response
