"""Where a push may be sent. A browser names the address, so it is not trusted: https, and no machine of our network."""

import socket
import ssl
from contextlib import closing
from http.client import HTTPException, HTTPSConnection
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import urlsplit

LONGEST = 1000
HTTPS_PORT = 443
TIMEOUT_SECONDS = 10
NAT64 = IPv6Network("64:ff9b::/96")


class EndpointError(Exception):
    """Not an address that a push may go to."""


def check(endpoint: str) -> str:
    """The host's name. Raises EndpointError for what is not https on its usual port to a public host."""
    try:
        parts = urlsplit(endpoint)
        host, port = parts.hostname or "", parts.port
    except ValueError as error:
        raise EndpointError("not an address") from error
    if len(endpoint) > LONGEST or not endpoint.isascii() or any(one <= " " for one in endpoint):
        raise EndpointError("not an address")
    if parts.scheme != "https" or port not in (None, HTTPS_PORT) or parts.username or parts.password or not host:
        raise EndpointError("not https")
    if "." not in host.strip(".") and ":" not in host:
        raise EndpointError("no public host")
    try:
        literal = ip_address(host)
    except ValueError:
        return host
    if not is_public(literal):
        raise EndpointError("no public host")
    return host


def is_public(address: IPv4Address | IPv6Address) -> bool:
    """Neither private nor reserved, nor a way round to such a one."""
    if isinstance(address, IPv6Address):
        inner = address.ipv4_mapped or address.sixtofour or (address.teredo or (None, None))[1]
        if inner is not None:
            return is_public(inner)
        if address in NAT64:
            return is_public(IPv4Address(int(address) & 0xFFFFFFFF))
    return address.is_global and not address.is_multicast


def resolved(host: str) -> str:
    """One of the host's addresses; EndpointError where any of them is not public."""
    try:
        found = [info[4][0] for info in socket.getaddrinfo(host, HTTPS_PORT, type=socket.SOCK_STREAM)]
    except OSError as error:
        raise ConnectionError(f"no address for {host}") from error
    if not all(is_public(ip_address(str(one).partition("%")[0])) for one in found):
        raise EndpointError("no public host")
    return str(found[0])


def tls() -> ssl.SSLContext:
    return ssl.create_default_context()


class _Pinned(HTTPSConnection):
    """Connects to the address that was checked, whatever the name would lead to a moment later."""

    def __init__(self, host: str, address: str) -> None:
        self.tls = tls()
        self.address = address
        super().__init__(host, HTTPS_PORT, timeout=TIMEOUT_SECONDS, context=self.tls)

    def connect(self) -> None:
        self.sock = socket.create_connection((self.address, self.port), self.timeout)
        self.sock = self.tls.wrap_socket(self.sock, server_hostname=self.host)


def post(endpoint: str, body: bytes, headers: dict[str, str]) -> tuple[int, str]:
    """Status and Retry-After of the answer. A redirect is not followed. ConnectionError where there is no answer."""
    host = check(endpoint)
    parts = urlsplit(endpoint)
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    with closing(_Pinned(host, resolved(host))) as connection:
        try:
            connection.request("POST", path, body, headers)
            answer = connection.getresponse()
            return answer.status, answer.getheader("Retry-After") or ""
        except (OSError, HTTPException) as error:
            raise ConnectionError(str(error)) from error
