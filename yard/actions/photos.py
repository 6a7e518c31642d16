"""Photos of stacks: verified, turned upright, made smaller, and stripped of all that isn't the picture."""

from io import BytesIO
from typing import IO, Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from yard.models import Photo, Stack

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 80_000_000
LONGEST_PX = 1600
FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")


def open_picture(file: IO[bytes]) -> Image.Image:
    """The picture, upright, in RGB. Raises ValidationError for what is too large or no picture that can be read.

    Only what the decoder makes of it goes on, so place, time and owner that a phone writes into a picture are lost.
    """
    if getattr(file, "size", 0) > MOST_BYTES:
        raise ValidationError(_("That photo is larger than %(mb)d MB; take it again at a smaller size.") % _limits())
    try:
        picture = Image.open(file, formats=FORMATS)
        if picture.width * picture.height > MOST_PIXELS:
            raise ValidationError(_("That photo has more than %(mp)d million pixels; make it smaller.") % _limits())
        return ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise ValidationError(_("That file can't be read as a photo; send a JPEG, PNG or WebP picture.")) from error


def bare_photo(file: IO[bytes]) -> ContentFile:
    """The picture alone, as a JPEG of at most LONGEST_PX a side. Raises ValidationError like `open_picture`."""
    picture = open_picture(file)
    picture.thumbnail((LONGEST_PX, LONGEST_PX))
    out = BytesIO()
    bare = Image.frombytes("RGB", picture.size, picture.tobytes())
    bare.save(out, "JPEG", quality=82, optimize=True)
    return ContentFile(out.getvalue())


def add_photo(*, stack: Stack, file: IO[bytes], by: Any) -> Photo:
    """Keep a photo of a stack. Raises ValidationError like `open_picture`."""
    photo = Photo(stack=stack, added_by=by)
    photo.image.save(f"{stack.code}.jpg", bare_photo(file))
    return photo


def _limits() -> dict[str, int]:
    return {"mb": MOST_BYTES // 1024**2, "mp": MOST_PIXELS // 10**6}


@transaction.atomic
def remove_photo(*, photo: Photo) -> None:
    """Take a photo away, its file once that is settled."""
    storage, name = photo.image.storage, photo.image.name or ""
    photo.delete()
    transaction.on_commit(lambda: storage.delete(name))
