"""Photos of a stack, seen by those who are signed in."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from yard.actions.people import owners_only
from yard.actions.photos import add_photo, delete_photo, put_photo_back, remove_photo
from yard.forms.photo import DeletePhotoForm, PhotoForm
from yard.models import Photo
from yard.receipts import moment
from yard.views.standing import any_stack, say_joined


@require_http_methods(["GET", "HEAD", "POST"])
def stack_photos(request: HttpRequest, code: str) -> HttpResponse:
    stack = any_stack(code)
    if request.method == "POST":
        say_joined(request, stack, stack.at_last)
        stack = stack.at_last
    form = PhotoForm(request.POST, request.FILES) if request.method == "POST" else PhotoForm()
    if request.method == "POST" and form.is_valid():
        try:
            add_photo(stack=stack, file=form.cleaned_data["photo"], by=request.user, at=moment(request))
        except ValidationError as error:
            form.add_error("photo", error)
        else:
            messages.success(request, _("The photo is kept."))
            return redirect("stack_photos", code=stack.code)
    context = {"stack": stack, "photos": stack.photos.shown().select_related("added_by"), "form": form}
    context["removed"] = stack.photos.removed().select_related("removed_by")
    return render(request, "yard/stack_photos.html", context, status=422 if form.errors else 200)


@require_safe
@cache_control(private=True, max_age=86400)
def photo(request: HttpRequest, pk: int) -> HttpResponseBase:
    found = get_object_or_404(Photo.objects.exclude(image=""), pk=pk)
    return FileResponse(found.image.open("rb"), content_type="image/jpeg")


@require_POST
def photo_remove(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Photo.objects.select_related("stack"), pk=pk)
    try:
        remove_photo(photo=found, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The photo is removed. It can be put back below."))
    return redirect("stack_photos", code=found.stack.code)


@require_POST
def photo_put_back(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Photo.objects.removed().select_related("stack"), pk=pk)
    put_photo_back(photo=found, by=request.user, at=timezone.now())
    messages.success(request, _("The photo is back."))
    return redirect("stack_photos", code=found.stack.code)


@owners_only
@require_http_methods(["GET", "HEAD", "POST"])
def photo_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """An owner deletes a removed photo for good, with a reason."""
    found = get_object_or_404(Photo.objects.removed().select_related("stack__species"), pk=pk)
    form = DeletePhotoForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            delete_photo(photo=found, reason=form.cleaned_data["reason"], by=request.user, at=timezone.now())
        except ValidationError as error:
            form.add_error("reason", error)
        else:
            messages.success(request, _("The photo is deleted for good. Who did it and why stays in the history."))
            return redirect("stack_photos", code=found.stack.code)
    context = {"photo": found, "stack": found.stack, "form": form}
    return render(request, "yard/photo_delete.html", context, status=422 if form.errors else 200)
