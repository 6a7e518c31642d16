"""Photos of a stack."""

from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import Image

from tests.factories import StackFactory
from yard.actions.photos import delete_photo
from yard.models import Change, Photo

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


def test_a_photo_removed_is_out_of_sight_and_can_be_put_back(signed_in, photo, django_capture_on_commit_callbacks):
    page = f"/stacks/{photo.stack.code}/"
    with django_capture_on_commit_callbacks(execute=True):
        said = signed_in.post(f"/photos/{photo.pk}/remove/", follow=True).content.decode()
    assert "can be put back" in said
    assert f'src="/photos/{photo.pk}/"' not in signed_in.get(page).content.decode()
    assert photo.image.storage.exists(photo.image.name)
    signed_in.post(f"/photos/{photo.pk}/put-back/")
    assert f'src="/photos/{photo.pk}/"' in signed_in.get(page).content.decode()
    text = signed_in.get(f"{page}history/").content.decode()
    assert "a photo was removed" in text and "a photo was put back" in text


def test_a_removal_is_undone(signed_in, photo):
    said = signed_in.post(f"/photos/{photo.pk}/remove/", follow=True).content.decode()
    change = Change.objects.get(kind="photo_removed")
    assert f'action="/undo/{change.pk}/"' in said
    signed_in.post(f"/undo/{change.pk}/")
    photo.refresh_from_db()
    assert photo.removed_at is None


def test_only_an_owner_deletes_for_good_with_a_reason_that_stays(
    signed_in, user, photo, django_capture_on_commit_callbacks
):
    address = f"/photos/{photo.pk}/delete/"
    signed_in.post(f"/photos/{photo.pk}/remove/")
    assert signed_in.post(address, {"reason": "A face is in it"}).status_code == 403
    user.is_staff = True
    user.save()
    assert signed_in.post(address, {"reason": " "}).status_code == 422
    assert photo.image.storage.exists(photo.image.name)
    with django_capture_on_commit_callbacks(execute=True):
        assert signed_in.post(address, {"reason": "A face is in it"}).status_code == 302
    assert not photo.image.storage.exists(photo.image.name)
    row = Photo.objects.get()
    assert (row.delete_reason, row.removed_by, row.image.name) == ("A face is in it", user, "")
    text = signed_in.get(f"/stacks/{photo.stack.code}/history/").content.decode()
    assert "deleted for good: A face is in it" in text
    assert signed_in.get(f"/photos/{photo.pk}/").status_code == 404
    assert signed_in.get(address).status_code == 404, "once"


def test_a_photo_in_sight_is_not_deleted_for_good(signed_in, user, photo):
    user.is_staff = True
    user.save()
    assert signed_in.post(f"/photos/{photo.pk}/delete/", {"reason": "Blurred"}).status_code == 404
    with pytest.raises(ValidationError, match="Remove the photo first"):
        delete_photo(photo=photo, reason="Blurred", by=user, at=timezone.now())


def test_a_photo_is_not_removed_by_following_a_link(signed_in, photo):
    assert signed_in.get(f"/photos/{photo.pk}/remove/").status_code == 405
