"""The page of what waits on a phone to be sent. The server knows nothing of it: the page's script fills it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe


@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    return render(request, "pwa/waiting.html")
