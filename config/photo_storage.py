"""Where photos are kept: the data folder, or a bucket of an S3 service, so that several machines share them."""

from typing import Any
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

ON_DISK: dict[str, Any] = {"BACKEND": "django.core.files.storage.FileSystemStorage"}


def photo_storage(name: str, address: str) -> dict[str, Any]:
    """Django's setting of a storage for `address`: empty, or s3://BUCKET or s3://BUCKET/FOLDER.

    The service, its region and keys are the SDK's own variables: AWS_ENDPOINT_URL_S3, AWS_DEFAULT_REGION,
    AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY. Photos stay private: pages read and pass them on to who is signed in.
    Raises ImproperlyConfigured, naming the variable `name`, for any other address.
    """
    if not address:
        return ON_DISK
    parts = urlsplit(address)
    if parts.scheme != "s3" or not parts.netloc or parts.query or parts.fragment or "@" in parts.netloc:
        raise ImproperlyConfigured(f"{name} is {address!r}; write s3://BUCKET or s3://BUCKET/FOLDER, or leave it out")
    options = {"bucket_name": parts.netloc, "location": parts.path.strip("/"), "file_overwrite": False}
    return {"BACKEND": "storages.backends.s3.S3Storage", "OPTIONS": {**options, "default_acl": None}}
