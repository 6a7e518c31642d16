"""Https in a yard without a name on the internet: an authority of one's own, and the server's certificate from it.

Phones are told once to trust the authority. Its key could vouch for other names too, so the authority itself is limited
(RFC 5280, 4.2.1.10) to private addresses and to names that no one on the internet can have; a stolen key opens no bank.
"""

import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, load_pem_private_key
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_DAYS = 3650
SERVER_DAYS = 397
"""Phones refuse certificates that last much longer (from memory)."""
RENEWED_DAYS = 60
PRIVATE_NAMES = ("local", "home.arpa", "internal", "localhost")
"""RFC 6762, RFC 8375 and RFC 6761; `internal` was set aside for private use by ICANN in 2024 (from memory)."""
PRIVATE_NETWORKS = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "100.64.0.0/10",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "fc00::/7",
    "::1/128",
)
"""RFC 1918, RFC 6598, RFC 3927, RFC 4193 and the machine itself."""


class NameNotPrivateError(ValueError):
    """A name or address that the authority may not vouch for."""


@dataclass(frozen=True, slots=True)
class Certificates:
    """Files for the server, the file that phones are to trust, and its fingerprint (SHA-256) for comparing."""

    server: Path
    key: Path
    authority: Path
    fingerprint: str


def certificates(folder: Path, names: Iterable[str], now: datetime) -> Certificates:
    """The files in `folder`, made or renewed where they are missing, soon over or for other names.

    The authority stays until it is over itself, so that phones need not be told again. Raises NameNotPrivateError.
    """
    wanted = _vouched_for(names)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    authority, key = _kept(folder, "authority")
    if authority is None or key is None or _is_over(authority, now, SERVER_DAYS):
        authority, key = _new_authority(now)
        _keep(folder, "authority", authority, key)
    server, server_key = _kept(folder, "server")
    is_good = server is not None and server_key is not None and not _is_over(server, now, RENEWED_DAYS)
    if not is_good or not _is_for(server, authority, wanted):
        server_key = ec.generate_private_key(ec.SECP256R1())
        _keep(folder, "server", _new_server(authority, key, server_key, wanted, now), server_key)
    fingerprint = authority.fingerprint(hashes.SHA256()).hex(":").upper()
    return Certificates(folder / "server.crt", folder / "server-key.pem", folder / "authority.crt", fingerprint)


def _vouched_for(names: Iterable[str]) -> list[x509.GeneralName]:
    return [_private(name.strip("[]").lower()) for name in dict.fromkeys(names)]


def _private(name: str) -> x509.GeneralName:
    try:
        address = ip_address(name)
    except ValueError:
        if name.rsplit(".", 1)[-1] in PRIVATE_NAMES or name.endswith(".home.arpa"):
            return x509.DNSName(name)
        raise NameNotPrivateError(
            f"{name} is a name that can be on the internet: get its certificate from a public authority instead"
        ) from None
    if not any(address in ip_network(one) for one in PRIVATE_NETWORKS):
        raise NameNotPrivateError(f"{name} is no private address: get its certificate from a public authority instead")
    return x509.IPAddress(address)


def _limits() -> x509.NameConstraints:
    names: list[x509.GeneralName] = [x509.DNSName(name) for name in PRIVATE_NAMES]
    return x509.NameConstraints([*names, *(x509.IPAddress(ip_network(one)) for one in PRIVATE_NETWORKS)], None)


def _named(words: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words)])


def _begun(subject: str, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime) -> x509.CertificateBuilder:
    """An hour back, for phones whose clocks are slow."""
    builder = x509.CertificateBuilder().subject_name(_named(subject)).issuer_name(issuer).public_key(key)
    return builder.serial_number(x509.random_serial_number()).not_valid_before(now - timedelta(hours=1))


def _new_authority(now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = ec.generate_private_key(ec.SECP256R1())
    words = f"Drystack of this yard, {now:%Y-%m-%d}"
    builder = _begun(words, _named(words), key.public_key(), now).not_valid_after(now + timedelta(days=AUTHORITY_DAYS))
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(_limits(), critical=True).add_extension(_usage(signs=True), critical=True)
    builder = builder.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    return builder.sign(key, hashes.SHA256()), key


def _new_server(
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    key: ec.EllipticCurvePrivateKey,
    names: list[x509.GeneralName],
    now: datetime,
) -> x509.Certificate:
    builder = _begun("Drystack", authority.subject, key.public_key(), now)
    builder = builder.not_valid_after(now + timedelta(days=SERVER_DAYS))
    whose = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    for extension, critical in (
        (x509.BasicConstraints(ca=False, path_length=None), True),
        (_usage(signs=False), True),
        (x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False),
        (x509.SubjectAlternativeName(names), False),
        (x509.SubjectKeyIdentifier.from_public_key(key.public_key()), False),
        (whose, False),
    ):
        builder = builder.add_extension(extension, critical=critical)
    return builder.sign(authority_key, hashes.SHA256())


def _usage(*, signs: bool) -> x509.KeyUsage:
    never = dict.fromkeys(
        (
            "content_commitment",
            "key_encipherment",
            "data_encipherment",
            "key_agreement",
            "encipher_only",
            "decipher_only",
        ),
        False,
    )
    return x509.KeyUsage(digital_signature=not signs, key_cert_sign=signs, crl_sign=signs, **never)


def _is_over(certificate: x509.Certificate, now: datetime, days: int) -> bool:
    return certificate.not_valid_after_utc < now + timedelta(days=days)


def _is_for(certificate: x509.Certificate | None, authority: x509.Certificate, names: list[x509.GeneralName]) -> bool:
    if certificate is None:
        return False
    try:
        certificate.verify_directly_issued_by(authority)
    except (ValueError, InvalidSignature):
        return False
    stated = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return set(names) <= set(stated)


def _kept(folder: Path, name: str) -> tuple[x509.Certificate | None, ec.EllipticCurvePrivateKey | None]:
    if not (folder / f"{name}.crt").exists() or not (folder / f"{name}-key.pem").exists():
        return None, None
    key = load_pem_private_key((folder / f"{name}-key.pem").read_bytes(), None)
    assert isinstance(key, ec.EllipticCurvePrivateKey)
    return x509.load_pem_x509_certificate((folder / f"{name}.crt").read_bytes()), key


def _keep(folder: Path, name: str, certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey) -> None:
    """The key first, readable by the owner of the folder alone."""
    path = folder / f"{name}-key.pem"
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    (folder / f"{name}.crt").write_bytes(certificate.public_bytes(Encoding.PEM))
