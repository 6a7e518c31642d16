"""Https from the yard's own authority: whoever trusts it reaches the server, and it can vouch for no one else."""

import os
import socket
import ssl
import stat
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from http.client import HTTPSConnection
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from django.conf import settings

from config import certificates as ours
from config.certificates import Certificates, NameNotPrivateError, certificates

NAMES = ["localhost", "127.0.0.1", "[::1]", "192.168.4.20", "mill.local", "saw.home.arpa"]
NOW = datetime.now(UTC).replace(microsecond=0)
SERVE = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from config.certificates import certificates
from config.server import serve
serve("127.0.0.1", int(sys.argv[1]), print, certificates(Path(sys.argv[2]), ["127.0.0.1"], datetime.now(UTC)))
"""


def met(made: Certificates, name: str, trusted: Path | None = None) -> str:
    """The TLS version that a phone, which trusts the authority alone, and the server agree on; SSLError if none."""
    phone = ssl.create_default_context(cafile=str(trusted or made.authority))
    host = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    host.load_cert_chain(made.server, made.key)
    to_host, to_phone = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = [
        phone.wrap_bio(to_phone, to_host, server_hostname=name),
        host.wrap_bio(to_host, to_phone, server_side=True),
    ]
    for _round in range(4):
        for end in ends:
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
    return str(ends[0].version())


@pytest.mark.parametrize("name", [name.strip("[]") for name in NAMES])
def test_who_trusts_the_authority_reaches_the_server_by_each_of_its_names(tmp_path, name):
    assert met(certificates(tmp_path / "https", NAMES, NOW), name) == "TLSv1.3"


def test_by_another_name_or_with_another_authority_it_is_not_reached(tmp_path):
    made, other = (certificates(tmp_path / one, NAMES, NOW) for one in ("ours", "other"))
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        met(made, "barn.local")
    with pytest.raises(ssl.SSLCertVerificationError):
        met(made, "mill.local", trusted=other.authority)


@pytest.mark.parametrize("name", ["yard.example", "notlocal", "local.example", "203.0.113.5", "*", "10.0.0.1.example"])
def test_it_refuses_names_that_can_be_on_the_internet(tmp_path, name):
    with pytest.raises(NameNotPrivateError):
        certificates(tmp_path / "https", ["localhost", name], NOW)
    assert not (tmp_path / "https").exists()


@pytest.mark.parametrize(("name", "taken"), [("yard.example", False), ("203.0.113.5", False), ("barn.local", True)])
def test_a_stolen_key_of_the_authority_vouches_for_private_names_alone(tmp_path, name, taken):
    made = certificates(tmp_path, NAMES, NOW)
    authority, authority_key = ours._kept(tmp_path, "authority")
    key = ec.generate_private_key(ec.SECP256R1())
    address = name[0].isdigit()
    stated = x509.IPAddress(ours.ip_address(name)) if address else x509.DNSName(name)
    ours._keep(tmp_path, "server", ours._new_server(authority, authority_key, key, [stated], NOW), key)
    if taken:
        assert met(made, name) == "TLSv1.3"
    else:
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            met(made, name)


def test_they_are_kept_renewed_before_they_are_over_and_made_anew_for_another_address(tmp_path):
    def both(names: list[str], now: datetime) -> tuple[bytes, bytes]:
        made = certificates(tmp_path, names, now)
        return made.authority.read_bytes(), made.server.read_bytes()

    first = both(NAMES, NOW)
    assert both(NAMES[:2], NOW + timedelta(days=300)) == first
    moved = both([*NAMES, "192.168.4.21"], NOW)
    renewed = both(NAMES, NOW + timedelta(days=340))
    assert moved[0] == renewed[0] == first[0], "phones trust it already"
    assert len({first[1], moved[1], renewed[1]}) == 3
    assert both(NAMES, NOW + timedelta(days=3300))[0] != first[0]


def test_an_authority_that_was_made_anew_gets_a_server_of_its_own(tmp_path):
    certificates(tmp_path, NAMES, NOW)
    (tmp_path / "authority.crt").unlink()
    assert met(certificates(tmp_path, NAMES, NOW), "mill.local") == "TLSv1.3"


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps who may read what otherwise")
def test_nobody_else_reads_the_keys(tmp_path):
    made = certificates(tmp_path / "https", NAMES, NOW)
    for key in (made.key, tmp_path / "https" / "authority-key.pem"):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "https").stat().st_mode) == 0o700


def test_the_server_answers_by_https_to_who_trusts_it(tmp_path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    made = certificates(tmp_path / "https", ["127.0.0.1"], datetime.now(UTC))
    environment = os.environ | {"DRYSTACK_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "config.settings"}
    command = [sys.executable, "-c", SERVE, str(port), str(made.server.parent)]
    server = subprocess.Popen(command, cwd=settings.BASE_DIR, env=environment)
    try:
        assert answered(port, ssl.create_default_context(cafile=str(made.authority))) == (405, "POST")
        with pytest.raises(ssl.SSLCertVerificationError):
            answered(port, ssl.create_default_context())
    finally:
        server.kill()
        server.wait()


def answered(port: int, context: ssl.SSLContext) -> tuple[int, str | None]:
    """What comes from an address that asks no database and draws no page."""
    for _try in range(300):
        line = HTTPSConnection("127.0.0.1", port, context=context, timeout=20)
        try:
            line.request("GET", "/sensors/readings/")
            answer = line.getresponse()
            return answer.status, answer.headers["Allow"]
        except ConnectionRefusedError:
            time.sleep(0.1)
        finally:
            line.close()
    raise AssertionError("the server does not answer")
