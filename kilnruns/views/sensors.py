"""Sensors: devices for owners, and the one address that devices send to."""

import re
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST, require_safe

from kilnruns.actions import sensing as actions
from kilnruns.forms.sensor import SensorForm
from kilnruns.models import Kiln, SensorDevice
from kilnruns.sensing.message import MOST_BYTES, RANGES, RAW_DAYS, MessageError, rows
from kilnruns.sensing.openapi import description
from kilnruns.sensing.series import points_of
from kilnruns.views.slowing import SPAN_SECONDS, is_over, tried_too_often
from yard.actions.people import owners_only

SHOWN = timedelta(days=1)
MOST_MESSAGES = 3000
"""Of one device in five minutes: ten a second."""


def _devices() -> Any:
    return SensorDevice.objects.select_related("kiln__place").prefetch_related("series")


@require_safe
def sensors(request: HttpRequest) -> HttpResponse:
    return render(request, "kilnruns/sensors.html", {"devices": _devices(), "has_kiln": Kiln.objects.exists()})


@owners_only
def sensor_new(request: HttpRequest) -> HttpResponse:
    form = SensorForm(request.POST or None, initial={"kiln": request.GET.get("kiln"), "silent_after_minutes": 30})
    if request.method != "POST" or not form.is_valid():
        return render(request, "kilnruns/sensor_new.html", {"form": form}, status=422 if form.errors else 200)
    given = {name: form.cleaned_data[name] for name in ("kiln", "name", "by_mqtt")}
    device, token = actions.add_device(**given, silent_after=form.cleaned_data["silent_after_minutes"], by=request.user)
    return _page(request, device.pk, token)


@require_safe
def sensor(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, pk)


def _page(request: HttpRequest, pk: int, token: str = "") -> HttpResponse:  # nosec B107
    """`token` is shown this once."""
    device = get_object_or_404(_devices(), pk=pk)
    now = timezone.now()
    begin, end = int((now - SHOWN).timestamp()), int(now.timestamp())
    found = points_of([one.pk for one in device.series.all()], begin, end)
    series = [(one, found[one.pk]) for one in device.series.all()]
    address = request.build_absolute_uri("/sensors/readings/")
    context = {"device": device, "series": series, "token": token, "address": address, "begin": begin, "end": end}
    return render(request, "kilnruns/sensor.html", context)


@require_POST
@owners_only
def sensor_token(request: HttpRequest, pk: int) -> HttpResponse:
    device = get_object_or_404(SensorDevice, pk=pk)
    return _page(request, pk, actions.renew_token(device=device, by=request.user))


@require_POST
@owners_only
def sensor_shut_out(request: HttpRequest, pk: int) -> HttpResponse:
    device = get_object_or_404(SensorDevice, pk=pk)
    actions.shut_out(device=device, by=request.user, at=timezone.now())
    messages.success(request, _("Shut out. What it sent before stays."))
    return redirect(device)


@require_safe
def sensor_guide(request: HttpRequest) -> HttpResponse:
    context = {
        "address": request.build_absolute_uri("/sensors/readings/"),
        "ranges": RANGES.items(),
        "raw_days": RAW_DAYS,
        "means_days": actions.TEN_MINUTES_DAYS,
    }
    return render(request, "kilnruns/sensor_guide.html", context)


@require_safe
def sensor_openapi(request: HttpRequest) -> HttpResponse:
    return JsonResponse(description(request.build_absolute_uri("/").rstrip("/")))


@csrf_exempt
@login_not_required
@require_POST
def sensor_readings(request: HttpRequest) -> HttpResponse:
    """A device's message; its token is its sign-in. Each refused reading is named; 400, 401, 413, 429 refuse all."""
    scheme, _space, token = request.headers.get("Authorization", "").partition(" ")
    device = actions.device_of(token.strip()) if scheme.lower() == "bearer" else None
    if device is None:
        if tried_too_often(request, "sensor"):
            return _slower()
        answer = JsonResponse({"error": "no such token, or the device was shut out"}, status=401)
        answer["WWW-Authenticate"] = "Bearer"
        return answer
    if is_over(f"sensor-{device.pk}", MOST_MESSAGES):
        return _slower()
    length = _length(request)
    if length is None:
        return JsonResponse({"error": "Content-Length is no length"}, status=400)
    if length > MOST_BYTES:
        return JsonResponse({"error": f"longer than {MOST_BYTES // 1024} KB"}, status=413)
    try:
        found = rows(request.body)
    except MessageError as error:
        actions.count_garbled(device=device)
        return JsonResponse({"error": str(error)}, status=400)
    taken = actions.take(device=device, rows=found, at=timezone.now())
    refused = [{"index": one.index, "fate": one.fate, "why": one.why} for one in taken.refused]
    return JsonResponse({"kept": taken.kept, "doubled": taken.doubled, "refused": refused})


def _slower() -> JsonResponse:
    headers = {"Retry-After": str(SPAN_SECONDS)}
    return JsonResponse({"error": "too many messages; wait"}, status=429, headers=headers)


def _length(request: HttpRequest) -> int | None:
    """How long the device says that its message is; None where that is no number, which Django would stumble over."""
    stated = request.headers.get("Content-Length") or "0"
    return int(stated) if re.fullmatch("[0-9]{1,18}", stated) else None
