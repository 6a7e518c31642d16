"""What stands behind the user's name."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from kilnruns.models import Kiln
from yard.models import Mill, Place, Species, Tag


@require_safe
def setup(request: HttpRequest) -> HttpResponse:
    context = {
        "mill": Mill.current(),
        "kilns": Kiln.objects.filter(retired=False).select_related("place"),
        "places": Place.objects.outdoors(),
        "species_count": Species.objects.count(),
        "blank_tags": Tag.objects.blank().count(),
    }
    return render(request, "setup.html", context)
