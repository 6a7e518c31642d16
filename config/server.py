"""Serving: a production server in this process, and how the address is shown."""

import io
import socket
from collections.abc import Callable

import qrcode
from cheroot import wsgi
from cheroot.ssl.builtin import BuiltinSSLAdapter
from django.core.management.base import CommandError
from django.core.wsgi import get_wsgi_application

from config.certificates import Certificates

THREADS = 8


def own_address() -> str:
    """This machine's address on the farm's network; no packet is sent. Falls back to the loopback address."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # TEST-NET-1 (RFC 5737): only asks the routing table
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def qr_in_terminal(text: str) -> str:
    """The text as a QR code drawn with half blocks, dark on light."""
    code = qrcode.QRCode(border=2)
    code.add_data(text)
    out = io.StringIO()
    code.print_ascii(out=out, invert=True)
    return out.getvalue()


def serve(host: str, port: int, say: Callable[[str], object], secured: Certificates | None = None) -> None:
    """Answer requests until interrupted, by https with certificates. Raises CommandError where the port is taken."""
    server = wsgi.Server((host, port), get_wsgi_application(), numthreads=THREADS, server_name="drystack")
    if secured:
        server.ssl_adapter = BuiltinSSLAdapter(str(secured.server), str(secured.key))
    try:
        server.prepare()
    except OSError as error:
        raise CommandError(
            f"can't listen on {host}:{port}; another program may have it. Choose another with --port {port + 1}"
        ) from error
    try:
        server.serve()
    except KeyboardInterrupt:
        say("Stopped.")
    finally:
        server.stop()
