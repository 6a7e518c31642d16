"""Photos of a stack."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests.factories import StackFactory
from yard.models import Photo

pytestmark = pytest.mark.django_db


def picture():
    out = BytesIO()
    Image.new("RGB", (60, 40), "peru").save(out, "PNG")
    return SimpleUploadedFile("stack.png", out.getvalue(), "image/png")


@pytest.fixture
def photo(signed_in):
    signed_in.post(f"/stacks/{StackFactory().code}/photos/", {"photo": picture()})
    return Photo.objects.get()


def test_a_photo_is_kept_and_seen(signed_in, photo):
    response = signed_in.get(f"/photos/{photo.pk}/")
    data = b"".join(response.streaming_content)
    assert Image.open(BytesIO(data)).format == "JPEG"
    assert response["Content-Type"] == "image/jpeg"
    assert f'src="/photos/{photo.pk}/"' in signed_in.get(f"/stacks/{photo.stack.code}/photos/").content.decode()


def test_nobody_sees_it_without_signing_in(client, photo):
    assert client.get(f"/photos/{photo.pk}/")["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("sent", [{}, {"photo": SimpleUploadedFile("a.jpg", b"no picture", "image/jpeg")}])
def test_no_photo_or_none_that_can_be_read_is_refused(signed_in, sent):
    response = signed_in.post(f"/stacks/{StackFactory().code}/photos/", sent)
    assert response.status_code == 422
    assert response.context["form"].errors["photo"]
    assert not Photo.objects.exists()


def test_a_photo_is_removed_with_its_file(signed_in, photo, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        signed_in.post(f"/photos/{photo.pk}/remove/")
    assert not Photo.objects.exists()
    assert not photo.image.storage.exists(photo.image.name)


def test_a_photo_is_not_removed_by_following_a_link(signed_in, photo):
    assert signed_in.get(f"/photos/{photo.pk}/remove/").status_code == 405
