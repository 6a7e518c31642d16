"""What this yard and its kilns have learned, in words."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kilnruns.models import Kiln
from kilnruns.planning.learned import kilns_learned
from yard import outlook
from yard.models import Stack

LATEST_CHANGES = 20


@require_safe
def learned(request: HttpRequest) -> HttpResponse:
    known = outlook.knowledge()
    found = kilns_learned()
    kilns = Kiln.objects.filter(retired=False).select_related("place")
    context = {
        "has_stacks": Stack.objects.drying().exists(),
        "whole": known.kind(),
        "kinds": known.kinds(),
        "places": known.places(),
        "species_list": known.species(),
        "kilns": [(kiln, found.get(kiln.pk)) for kiln in kilns],
        "changes": known.changes[:LATEST_CHANGES],
        "today": timezone.localdate(),
    }
    return render(request, "kilnruns/learned.html", context)
