"""Photos: only the picture is kept, and what is no picture is refused."""

from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from PIL import Image

from tests.factories import StackFactory, UserFactory
from yard.actions import photos

pytestmark = pytest.mark.django_db
GPS, MAKE, ORIENTATION = 0x8825, 0x010F, 0x0112


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def picture(width=2400, height=1200, **save):
    out = BytesIO()
    Image.new("RGB", (width, height), "peru").save(out, "JPEG", **save)
    out.seek(0)
    return out


def kept(photo):
    with photo.image.open() as file:
        picture = Image.open(file)
        picture.load()
    return picture


def test_a_large_photo_is_kept_as_a_small_jpeg():
    user = UserFactory()
    photo = photos.add_photo(stack=StackFactory(), file=picture(), by=user)
    assert (kept(photo).format, kept(photo).size, photo.added_by) == ("JPEG", (1600, 800), user)


def test_place_and_owner_are_stripped_and_the_picture_turned_upright():
    exif = Image.Exif()
    exif[MAKE], exif[ORIENTATION] = "Invented camera", 6
    exif.get_ifd(GPS)[1] = "N"
    sent = picture(exif=exif, comment=b"secret garden")
    assert b"Invented camera" in sent.getvalue()
    photo = photos.add_photo(stack=StackFactory(), file=sent, by=UserFactory())
    assert kept(photo).size == (800, 1600)
    assert not kept(photo).getexif()
    with photo.image.open() as file:
        data = file.read()
    assert b"Invented camera" not in data
    assert b"secret garden" not in data


def test_a_png_with_transparency_becomes_a_jpeg():
    out = BytesIO()
    Image.new("RGBA", (50, 40), (0, 0, 0, 0)).save(out, "PNG")
    out.seek(0)
    assert kept(photos.add_photo(stack=StackFactory(), file=out, by=UserFactory())).format == "JPEG"


@pytest.mark.parametrize("data", [b"", b"no picture at all", picture().getvalue()[:300], b"<svg/>"])
def test_what_is_no_picture_is_refused_with_what_to_send(data):
    with pytest.raises(ValidationError, match="JPEG, PNG or WebP"):
        photos.add_photo(stack=StackFactory(), file=BytesIO(data), by=UserFactory())


def test_a_file_that_is_too_large_is_refused(monkeypatch):
    sent = picture()
    sent.size = photos.MOST_BYTES + 1
    with pytest.raises(ValidationError, match="larger than 20 MB"):
        photos.add_photo(stack=StackFactory(), file=sent, by=UserFactory())


def test_a_picture_of_too_many_pixels_is_refused_before_it_is_decoded(monkeypatch):
    monkeypatch.setattr(photos, "MOST_PIXELS", 1000)
    with pytest.raises(ValidationError, match="million pixels"):
        photos.add_photo(stack=StackFactory(), file=picture(), by=UserFactory())
