"""A person's reminders: the calendar's address, this device, the hour."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from kilnruns.actions import reminding as actions
from kilnruns.actions.pushing import try_out
from kilnruns.forms.reminders import HoursForm, SubscriptionForm
from kilnruns.models import PushDevice, Reminders
from kilnruns.reminding.vapid import public_key


def _page(request: HttpRequest, **shown: Any) -> HttpResponse:
    """`address` is the calendar's, which is shown this once."""
    wishes, here = Reminders.of(request.user), request.session.get(actions.SESSION)
    devices = list(PushDevice.objects.filter(person=request.user))  # type: ignore[misc]
    context = {
        "wishes": wishes,
        "devices": devices,
        "here": here,
        "is_here": here in [device.pk for device in devices],
        "key": public_key(),
        "hours": HoursForm(instance=wishes),
        "subscription": SubscriptionForm(),
        "zone": timezone.get_default_timezone_name(),
        **shown,
    }
    is_wrong = any(context[name].errors for name in ("hours", "subscription"))
    return render(request, "kilnruns/reminders.html", context, status=422 if is_wrong else 200)


def reminders(request: HttpRequest) -> HttpResponse:
    form = HoursForm(request.POST or None, instance=Reminders.of(request.user))
    if request.method != "POST" or not form.is_valid():
        return _page(request, hours=form)
    actions.set_hours(by=request.user, hour=form.cleaned_data["hour"], alarms=form.cleaned_data["alarms"])
    messages.success(request, _("Kept."))
    return redirect("reminders")


@never_cache
@require_POST
def calendar_new(request: HttpRequest) -> HttpResponse:
    token = actions.make_calendar(by=request.user, at=timezone.now())
    return _page(request, address=request.build_absolute_uri(reverse("calendar_feed", args=[token])))


@require_POST
def calendar_end(request: HttpRequest) -> HttpResponse:
    actions.end_calendar(by=request.user)
    messages.success(request, _("Ended. The address answers no more; you may take the calendar out of your program."))
    return redirect("reminders")


@require_POST
def push_device_new(request: HttpRequest) -> HttpResponse:
    form = SubscriptionForm(request.POST)
    if not form.is_valid():
        return _page(request, subscription=form)
    is_phone = "Mobi" in request.headers.get("User-Agent", "")
    given = form.cleaned_data["subscription"]
    site = request.build_absolute_uri("/").rstrip("/")
    device = actions.add_device(by=request.user, at=timezone.now(), site=site, is_phone=is_phone, **given)
    request.session[actions.SESSION] = device.pk
    messages.success(request, _("This device will remind you."))
    return redirect("reminders")


@require_POST
def push_device_try(request: HttpRequest, pk: int) -> HttpResponse:
    device = get_object_or_404(PushDevice, pk=pk, person=request.user)
    if try_out(device=device, at=timezone.now()):
        messages.success(request, _("Sent. It should be there in a moment; if not, look at the device's settings."))
    elif device.pk:
        messages.error(request, _("It did not get through. Drystack tries again when something is due."))
    else:
        messages.error(request, _("That device takes no reminders any more, and was taken off the list."))
    return redirect("reminders")


@require_POST
def push_device_end(request: HttpRequest, pk: int) -> HttpResponse:
    actions.end_device(pk=pk, by=request.user)
    messages.success(request, _("Ended: that device reminds you no more."))
    return redirect("reminders")
