"""Photos of stacks: verified, turned upright, made smaller, and stripped of all that isn't the picture."""

from datetime import datetime
from io import BytesIO
from typing import IO, Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from yard.actions.people import is_owner
from yard.changes import Watched, keeps
from yard.models import Event, Photo, Stack, log

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS, MOST_UNSCALED_PIXELS = 80_000_000, 40_000_000
"""The second for all but JPEG, which alone can be decoded at a smaller scale: 80 KB of PNG unpack to 320 MB."""
LONGEST_PX = 1600
FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")


def open_picture(file: IO[bytes], longest_px: int | None = None) -> Image.Image:
    """The picture, upright, in RGB, with `longest_px` made smaller before all else, so that little memory is needed.
    Raises ValidationError for what is too large or no picture that can be read.

    Only what the decoder makes of it goes on, so place, time and owner that a phone writes into a picture are lost.
    """
    if getattr(file, "size", 0) > MOST_BYTES:
        raise ValidationError(_("That photo is larger than %(mb)d MB; take it again at a smaller size.") % _limits())
    try:
        picture = Image.open(file, formats=FORMATS)
        _refuse_too_many_pixels(picture)
        if longest_px:
            picture.draft("RGB", (longest_px, longest_px))
            picture.thumbnail((longest_px, longest_px))
        return ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise ValidationError(_("That file can't be read as a photo; send a JPEG, PNG or WebP picture.")) from error


def _refuse_too_many_pixels(picture: Image.Image) -> None:
    most = MOST_PIXELS if picture.format == "JPEG" else MOST_UNSCALED_PIXELS
    if picture.width * picture.height > most:
        words = _("That photo has more than %(mp)d million pixels; make it smaller.")
        raise ValidationError(words % {"mp": most // 10**6})


def bare_photo(file: IO[bytes]) -> ContentFile:
    """The picture alone, as a JPEG of at most LONGEST_PX a side. Raises ValidationError like `open_picture`."""
    picture = open_picture(file, LONGEST_PX)
    out = BytesIO()
    bare = Image.frombytes("RGB", picture.size, picture.tobytes())
    bare.save(out, "JPEG", quality=82, optimize=True)
    return ContentFile(out.getvalue())


def add_photo(*, stack: Stack, file: IO[bytes], by: Any, at: datetime | None = None) -> Photo:
    """Keep a photo of a stack, taken `at` (None: now). Raises ValidationError like `open_picture`."""
    return _add(stack=stack, picture=bare_photo(file), by=by, at=at or timezone.now())


@transaction.atomic
@keeps("photo_added", lambda stack, **_given: Watched([stack]), lambda photo: ([], [photo]))
def _add(*, stack: Stack, picture: ContentFile, by: Any, at: datetime) -> Photo:
    photo = Photo(stack=stack, added_by=by)
    photo.image.save(f"{stack.code}.jpg", picture)
    log([stack], Event.Kind.CORRECTED, at=at, by=by, photo="added")
    return photo


def _limits() -> dict[str, int]:
    return {"mb": MOST_BYTES // 1024**2}


@transaction.atomic
@keeps("photo_removed", lambda photo, **_given: _of_photo(photo))
def remove_photo(*, photo: Photo, by: Any, at: datetime) -> None:
    """Take a photo out of sight; it can be put back. Raises ValidationError for one that is out of sight already."""
    if photo.removed_at is not None:
        raise ValidationError(_("This photo was removed already."))
    photo.removed_at, photo.removed_by = at, by
    photo.save(update_fields=["removed_at", "removed_by"])
    log([photo.stack], Event.Kind.CORRECTED, at=at, by=by, photo="removed")


@transaction.atomic
@keeps("photo_put_back", lambda photo, **_given: _of_photo(photo))
def put_photo_back(*, photo: Photo, by: Any, at: datetime) -> None:
    photo.removed_at = photo.removed_by = None
    photo.save(update_fields=["removed_at", "removed_by"])
    log([photo.stack], Event.Kind.CORRECTED, at=at, by=by, photo="put_back")


@transaction.atomic
@keeps("photo_deleted", lambda photo, **_given: _of_photo(photo))
def delete_photo(*, photo: Photo, reason: str, by: Any, at: datetime) -> None:
    """Delete a removed photo's picture for good, once that is settled; who, when and why stay.

    Raises ValidationError for who is no owner, without a reason, and for a photo that was not removed before.
    """
    if not is_owner(by):
        raise ValidationError(_("Only an owner deletes for good."))
    if not reason.strip():
        raise ValidationError(_("Say why it is deleted for good; the reason stays in the history."))
    photo = Photo.objects.select_for_update(of=("self",)).select_related("stack").get(pk=photo.pk)
    if photo.removed_at is None or not photo.image:
        raise ValidationError(_("Remove the photo first; it can be deleted for good after that."))
    storage, name = photo.image.storage, photo.image.name or ""
    photo.image, photo.delete_reason = "", reason.strip()
    photo.removed_at, photo.removed_by = at, by
    photo.save(update_fields=["image", "delete_reason", "removed_at", "removed_by"])
    log([photo.stack], Event.Kind.CORRECTED, at=at, by=by, photo="deleted", reason=photo.delete_reason)
    transaction.on_commit(lambda: storage.delete(name))


def _of_photo(photo: Photo) -> Watched:
    return Watched([photo.stack], [Photo.objects.filter(pk=photo.pk)])
