"""A push service on this machine: takes what is sent by TLS, checks its signature, and opens it as a browser would."""

import json
import ssl
import threading
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import http_ece
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives import serialization as form
from cryptography.hazmat.primitives.asymmetric import ec, utils

from kilnruns.reminding import endpoint

HOST = "push.example"


def text_of(raw: bytes) -> str:
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def bytes_of(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


class Browser:
    """The receiving side: a key pair and a secret, which only it has (RFC 8291, 2 and 3.2)."""

    def __init__(self, path: str = "/one", secret: bytes = b"sixteen bytes ok") -> None:
        self.key, self.secret = ec.generate_private_key(ec.SECP256R1()), secret
        self.endpoint = f"https://{HOST}{path}"

    @property
    def subscription(self) -> dict[str, Any]:
        point = self.key.public_key().public_bytes(form.Encoding.X962, form.PublicFormat.UncompressedPoint)
        keys = {"p256dh": text_of(point), "auth": text_of(self.secret)}
        return {"endpoint": self.endpoint, "expirationTime": None, "keys": keys}

    def opened(self, body: bytes) -> dict[str, Any]:
        found = http_ece.decrypt(body, private_key=self.key, auth_secret=self.secret, version="aes128gcm")
        told: dict[str, Any] = json.loads(found)
        return told


def signed_claims(authorization: str) -> tuple[dict[str, Any], str]:
    """The claims of a VAPID header and the key that signed them (RFC 8292, 2 and 3); fails on a wrong signature."""
    scheme, _, rest = authorization.partition(" ")
    assert scheme == "vapid"
    fields = dict(part.strip().split("=", 1) for part in rest.split(","))
    head, claims, signature = fields["t"].split(".")
    assert json.loads(bytes_of(head))["alg"] == "ES256"
    raw = bytes_of(signature)
    pair = utils.encode_dss_signature(int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big"))
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), bytes_of(fields["k"]))
    key.verify(pair, f"{head}.{claims}".encode(), ec.ECDSA(hashes.SHA256()))
    return json.loads(bytes_of(claims)), fields["k"]


class Service:
    """What it was sent: path, headers, body; `answers` are the next statuses, then 201."""

    def __init__(self, port: int, certificate: Path) -> None:
        self.port, self.certificate = port, certificate
        self.sent: list[tuple[str, dict[str, str], bytes]] = []
        self.answers: list[tuple[int, dict[str, str]]] = []


@contextmanager
def service(folder: Path, host: str = HOST) -> Iterator[Service]:
    certificate = _certificate(folder, host)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            found.sent.append((self.path, dict(self.headers), body))
            status, headers = found.answers.pop(0) if found.answers else (201, {})
            self.send_response(status)
            for name, value in {"Content-Length": "0", **headers}.items():
                self.send_header(name, value)
            self.end_headers()

        def log_message(self, *_: Any) -> None:
            pass

    class Server(HTTPServer):
        def handle_error(self, *_: Any) -> None:
            """A sender that does not trust us ends its greeting half-way."""

    server = Server(("127.0.0.1", 0), Handler)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    found = Service(server.server_port, certificate)
    thread = threading.Thread(target=server.serve_forever, args=[0.01], daemon=True)
    thread.start()
    try:
        yield found
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def stand_in(monkeypatch: Any, found: Service) -> None:
    """What would go to a public service of that name comes here, by the same way with its certificate looked at."""
    monkeypatch.setattr(endpoint, "HTTPS_PORT", found.port)
    monkeypatch.setattr(endpoint, "resolved", lambda host: "127.0.0.1")
    monkeypatch.setattr(endpoint, "tls", lambda: ssl.create_default_context(cafile=found.certificate))


def _certificate(folder: Path, host: str) -> Path:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, host)])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(host)]), False)
        .add_extension(x509.BasicConstraints(True, None), True)
        .sign(key, hashes.SHA256())
    )
    path = folder / f"{host}.pem"
    secret = key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())
    path.write_bytes(secret + made.public_bytes(form.Encoding.PEM))
    return path
