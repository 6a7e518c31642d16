"""The yard's key for web push (VAPID, RFC 8292): made at the first wish, kept in the data folder."""

import os
import secrets
from base64 import urlsafe_b64encode
from contextlib import suppress
from pathlib import Path

from cryptography.hazmat.primitives import serialization as form
from cryptography.hazmat.primitives.asymmetric import ec
from django.conf import settings

FILE = "push-key.pem"


def private_pem() -> bytes:
    """The key, made where there is none. Of two processes that make one at once the first stands."""
    path = Path(settings.DATA_DIR) / FILE
    with suppress(FileNotFoundError):
        return path.read_bytes()
    key = ec.generate_private_key(ec.SECP256R1())
    pem = key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())
    draft = path.with_name(f"{FILE}.{secrets.token_hex(6)}")  # whole before it has its name
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(pem)
    try:
        with suppress(FileExistsError):
            os.link(draft, path)
    finally:
        draft.unlink()
    return path.read_bytes()


def public_key() -> str:
    """For browsers: the uncompressed point in base64url."""
    key = form.load_pem_private_key(private_pem(), None)
    point = key.public_key().public_bytes(form.Encoding.X962, form.PublicFormat.UncompressedPoint)
    return urlsafe_b64encode(point).rstrip(b"=").decode()
