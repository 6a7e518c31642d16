"""Photos in a bucket: really sent to an S3 service (moto's, in this process), served to who is signed in, backed up."""

import hashlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import boto3
import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from moto.server import ThreadedMotoServer
from PIL import Image

from config.photo_storage import photo_storage
from tests.config.databases import KINDS, fresh, manage, run
from tests.config.test_backup import GO_ON, PREPARE
from tests.effort import effort
from tests.factories import StackFactory, UserFactory
from yard.actions.photos import add_photo, delete_photo, remove_photo
from yard.models import Photo

BUCKET = "photos-of-a-yard"
PLACE = f"s3://{BUCKET}/mill"


@pytest.fixture(scope="module")
def service() -> Iterator[str]:
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


@pytest.fixture
def keys(service: str, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The environment that the SDK reads; the bucket is there and empty."""
    given = {
        "AWS_ENDPOINT_URL_S3": service,
        "AWS_DEFAULT_REGION": "eu-north-1",
        "AWS_ACCESS_KEY_ID": "a-key",
        "AWS_SECRET_ACCESS_KEY": "its-secret",
    }
    for name, value in given.items():
        monkeypatch.setenv(name, value)
    bucket = boto3.resource("s3").Bucket(BUCKET)
    if bucket.creation_date is None:
        bucket.create(CreateBucketConfiguration={"LocationConstraint": "eu-north-1"})
    bucket.objects.all().delete()
    return given


@pytest.fixture
def bucket(keys: dict[str, str], settings: Any) -> Any:
    settings.STORAGES = {**settings.STORAGES, "default": photo_storage("DRYSTACK_PHOTOS", PLACE)}
    return boto3.resource("s3").Bucket(BUCKET)


def jpeg() -> bytes:
    out = BytesIO()
    Image.new("RGB", (300, 200), "peru").save(out, "JPEG")
    return out.getvalue()


@pytest.mark.django_db
def test_a_photo_goes_to_the_bucket_and_comes_back_to_who_is_signed_in(bucket: Any) -> None:
    stack, client = StackFactory(), Client()
    client.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
    sent = SimpleUploadedFile("end.jpg", jpeg(), "image/jpeg")
    assert client.post(reverse("stack_photos", args=[stack.code]), {"photo": sent}).status_code == 302
    kept = Photo.objects.get()
    [there] = bucket.objects.all()
    assert there.key == f"mill/{kept.image.name}"
    got = client.get(reverse("photo", args=[kept.pk]))
    assert b"".join(got.streaming_content) == there.get()["Body"].read()
    assert Client().get(reverse("photo", args=[kept.pk])).status_code == 302


@pytest.mark.django_db
def test_two_photos_of_one_name_are_kept_apart_and_one_deleted_for_good_leaves_the_bucket(
    bucket: Any, django_capture_on_commit_callbacks: Any
) -> None:
    stack, owner = StackFactory(), UserFactory(is_staff=True)
    first, second = (add_photo(stack=stack, file=ContentFile(jpeg()), by=owner) for _ in range(2))
    assert first.image.name != second.image.name
    remove_photo(photo=first, by=owner, at=first.added_at)
    with django_capture_on_commit_callbacks(execute=True):
        delete_photo(photo=first, reason="a face", by=owner, at=first.added_at)
    assert [one.key for one in bucket.objects.all()] == [f"mill/{second.image.name}"]


@pytest.mark.usefixtures("django_db_setup")
def test_a_backup_takes_photos_out_of_the_bucket_and_a_restore_puts_them_on_disk_or_there(
    keys: dict[str, str], tmp_path: Path
) -> None:
    digest = hashlib.sha256(bytes(range(256)) * 999).hexdigest()
    file = tmp_path / "yard.zip"
    with fresh(KINDS[0], tmp_path / "one", "bucket", migrated=True) as environment:
        there = environment | keys | {"DRYSTACK_PHOTOS": PLACE}
        run(PREPARE, there)
        assert manage(there, "backup", "--to", str(file)).returncode == 0
    assert not (tmp_path / "one" / "photos").exists()
    to_bucket = {"DRYSTACK_PHOTOS": PLACE + "-again"}
    for folder, more in effort([("two", to_bucket)], [("two", to_bucket), ("three", {})]):
        with fresh(KINDS[0], tmp_path / folder, "bucket") as environment:
            done = manage(environment | keys | more, "restore", str(file))
            assert done.returncode == 0, done.stderr
            assert run(GO_ON, environment | keys | more) == [True, True, digest]
    names = {one.key.split("/")[0] for one in boto3.resource("s3").Bucket(BUCKET).objects.all()}
    assert names == {"mill", "mill-again"}


@pytest.mark.parametrize("address", ["photos", "https://bucket", "s3://", "s3://key:secret@bucket", "s3://bucket?a=b"])
def test_an_address_that_names_no_bucket_stops_the_start(address: str) -> None:
    with pytest.raises(ImproperlyConfigured, match=r"DRYSTACK_PHOTOS is .*; write s3://BUCKET"):
        photo_storage("DRYSTACK_PHOTOS", address)
