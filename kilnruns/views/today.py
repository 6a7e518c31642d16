"""Today: what is due, and nothing else."""

from datetime import date
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from kilnruns.models import Charge, Kiln, Plan
from yard import outlook
from yard.models import Stack

SHOWN = 5
WATCHED = 150  # stacks looked at for warnings: enough for a day's walk, and a bound on the page's work


def warnings(on: date) -> list[dict[str, Any]]:
    """The gravest watches of the drying stacks, at most SHOWN."""
    stacks = Stack.objects.drying().filter(outlook__isnull=False).for_lists().order_by("-outlook__loss_pct_per_day")
    found = [{"stack": stack, **watch} for stack in stacks[:WATCHED] for watch in outlook.watches(stack, on)]
    return sorted(found, key=lambda one: (one["level"] != "act", one["stack"].code))[:SHOWN]


def charges_ahead() -> list[Charge]:
    return list(Charge.objects.ahead().select_related("kiln__place").prefetch_related("stacks__stack__species"))


def upcoming(on: date) -> Stack | None:
    """The next stack to become ready, for when nothing is due."""
    return Stack.objects.drying().filter(outlook__ready_p50__gt=on).for_lists().order_by("outlook__ready_p50").first()


@login_not_required
def today(request: HttpRequest) -> HttpResponse:
    if not request.user.is_authenticated:
        return redirect("login" if get_user_model().objects.exists() else "welcome")
    on = timezone.localdate()
    outlook.refresh_missing()
    ready = Stack.objects.ready(on).filter(set_aside_for="").for_lists().order_by("outlook__ready_p50", "code")
    due = Stack.objects.due_reading(on).for_lists().order_by("outlook__as_of", "code")
    charges = charges_ahead()
    context = {
        "on": on,
        "charges": charges,
        "warnings": warnings(on),
        "ready": with_moisture(ready[:SHOWN], on),
        "ready_count": ready.count(),
        "due": with_moisture(due[:SHOWN], on),
        "due_count": due.count(),
        "plan": Plan.objects.in_force(),
        "has_kiln": Kiln.objects.filter(retired=False).exists(),
        "has_stack": bool(charges) or Stack.objects.standing().exists(),
        "upcoming": upcoming(on),
    }
    return render(request, "kilnruns/today.html", context)


def with_moisture(stacks: Any, on: date) -> list[Stack]:
    """The stacks, each with `now`: P10, P50, P90 of its moisture (%) on that day, or None without a forecast."""
    rows = list(stacks)
    for stack in rows:
        stack.now = stack.outlook.moisture_on(on) if hasattr(stack, "outlook") else None
    return rows
