"""Photos of a stack, seen by those who are signed in."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from yard.actions.photos import add_photo, remove_photo
from yard.forms.photo import PhotoForm
from yard.models import Photo
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
            add_photo(stack=stack, file=form.cleaned_data["photo"], by=request.user)
        except ValidationError as error:
            form.add_error("photo", error)
        else:
            messages.success(request, _("The photo is kept."))
            return redirect("stack_photos", code=stack.code)
    context = {"stack": stack, "photos": stack.photos.select_related("added_by"), "form": form}
    return render(request, "yard/stack_photos.html", context, status=422 if form.errors else 200)


@require_safe
@cache_control(private=True, max_age=86400)
def photo(request: HttpRequest, pk: int) -> HttpResponseBase:
    found = get_object_or_404(Photo, pk=pk)
    return FileResponse(found.image.open("rb"), content_type="image/jpeg")


@require_POST
def photo_remove(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Photo.objects.select_related("stack"), pk=pk)
    remove_photo(photo=found)
    messages.success(request, _("The photo is gone."))
    return redirect("stack_photos", code=found.stack.code)
