"""deploy/nginx.conf for real: nginx with it on this machine, before the server that `serve` runs."""

import http.client
import os
import re
import shutil
import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import urlencode

import pytest
from axes.models import AccessAttempt
from cheroot import wsgi
from django.conf import settings as project
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.utils import timezone

from config.certificates import certificates
from tests.conftest import skip_or_fail
from tests.factories import PASSWORD, UserFactory

NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
pytestmark = pytest.mark.django_db(transaction=True)
AS_ROOT = "user root;" if hasattr(os, "geteuid") and os.geteuid() == 0 else ""  # its worker writes in our folder
FRAME = """
{user} daemon off; worker_processes 1; pid {folder}/pid; error_log {folder}/error.log;
events {{ worker_connections 64; }}
http {{
    access_log off;
    client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy; fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi; scgi_temp_path {folder}/scgi;
    include {folder}/site.conf;
}}
"""


def free_ports(number: int) -> list[int]:
    """Different ones: each is held until all are found."""
    with ExitStack() as held:
        probes = [held.enter_context(socket.socket()) for _port in range(number)]
        for probe in probes:
            probe.bind(("127.0.0.1", 0))
        return [int(probe.getsockname()[1]) for probe in probes]


def site(folder: Path, behind: int, plain: int, secure: int) -> str:
    """The committed file with its name, ports and certificate put for this machine; nothing else of it is altered."""
    made = certificates(folder / "https", ["localhost"], timezone.now())
    text = (project.BASE_DIR / "deploy" / "nginx.conf").read_text()
    text = re.sub(r"\n    listen \[::\][^\n]*", "", text)
    text = text.replace("listen 80;", f"listen 127.0.0.1:{plain};").replace(
        "listen 443 ", f"listen 127.0.0.1:{secure} "
    )
    text = re.sub(r"(ssl_certificate +)[^;]+", rf"\g<1>{made.server}", text)
    text = re.sub(r"(ssl_certificate_key +)[^;]+", rf"\g<1>{made.key}", text)
    text = text.replace("https://yard.example$", f"https://localhost:{secure}$")
    return text.replace("yard.example", "localhost").replace("127.0.0.1:8000", f"127.0.0.1:{behind}")


@pytest.fixture
def proxy(tmp_path, settings, monkeypatch) -> Iterator[SimpleNamespace]:
    if NGINX is None:
        skip_or_fail("no nginx here (Debian, Ubuntu: apt install nginx-light)")
    behind, plain, secure = free_ports(3)
    settings.ALLOWED_HOSTS = ["localhost"]
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = settings.SECURE_SSL_REDIRECT = True
    settings.SECURE_HSTS_SECONDS = 60
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    settings.CSRF_TRUSTED_ORIGINS = [f"https://localhost:{secure}"]
    settings.MIDDLEWARE = ["config.middleware.client_address.ClientAddressMiddleware", *settings.MIDDLEWARE]
    # its threads end with their connections open, if those are kept
    monkeypatch.setitem(connections.settings["default"], "CONN_MAX_AGE", 0)
    server = wsgi.Server(("127.0.0.1", behind), get_wsgi_application(), numthreads=2)
    server.prepare()
    threading.Thread(target=server.serve, daemon=True).start()
    (tmp_path / "site.conf").write_text(site(tmp_path, behind, plain, secure))
    (tmp_path / "nginx.conf").write_text(FRAME.format(folder=tmp_path, user=AS_ROOT))
    nginx = subprocess.Popen([NGINX, "-p", str(tmp_path), "-e", str(tmp_path / "error.log"), "-c", "nginx.conf"])
    try:
        wait_for(plain, nginx, tmp_path / "error.log")
        yield SimpleNamespace(plain=plain, secure=secure, authority=str(tmp_path / "https" / "authority.crt"))
    finally:
        nginx.terminate()
        nginx.wait(20)
        server.stop()


def wait_for(port: int, process: subprocess.Popen, log: Path) -> None:
    while True:
        assert process.poll() is None, log.read_text()
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)


def ask(proxy, method, path, body=None, secure=True, **headers):
    context = ssl.create_default_context(cafile=proxy.authority)
    if secure:
        line = http.client.HTTPSConnection("localhost", proxy.secure, context=context, timeout=60)
    else:
        line = http.client.HTTPConnection("127.0.0.1", proxy.plain, timeout=60)
    line.request(method, path, body, {name.replace("_", "-"): value for name, value in headers.items()})
    answer = line.getresponse()
    answer.text = answer.read().decode(errors="replace")
    line.close()
    return answer


def test_through_the_proxy(proxy):
    """One way through, since each start of nginx costs: http, https, signing in, who asks, what is too large."""
    over_http = ask(proxy, "GET", "/sign-in/", secure=False, X_Forwarded_Proto="https")
    assert over_http.status == 301
    assert over_http.headers["Location"] == f"https://localhost:{proxy.secure}/sign-in/"

    page = ask(proxy, "GET", "/sign-in/")
    assert page.status == 200 and "max-age=60" in page.headers["Strict-Transport-Security"]
    assert "default-src 'none'" in page.headers["Content-Security-Policy"]
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.text)[1]
    cookie = page.headers["Set-Cookie"].partition(";")[0]
    assert "Secure" in page.headers["Set-Cookie"]

    user = UserFactory()
    form = {"username": user.username, "password": "a guess", "csrfmiddlewaretoken": token}
    sent = {"Content_Type": "application/x-www-form-urlencoded", "Cookie": cookie, "Host": f"localhost:{proxy.secure}"}
    sent["Origin"] = f"https://localhost:{proxy.secure}"
    lie = {"X_Forwarded_For": "203.0.113.9", "X_Forwarded_Host": "evil.example", "X_Forwarded_Proto": "http"}
    assert ask(proxy, "POST", "/sign-in/", urlencode(form), **sent, **lie).status == 200
    assert AccessAttempt.objects.get().ip_address == "127.0.0.1", "who connected to the proxy, not what was claimed"

    right = ask(proxy, "POST", "/sign-in/", urlencode(form | {"password": PASSWORD}), **sent)
    assert right.status == 302
    cookies = "; ".join([cookie, *re.findall(r"sessionid=\w+", str(right.headers))])
    assert ask(proxy, "GET", "/yard/", Cookie=cookies).status == 200
    assert ask(proxy, "POST", "/scan/", b"", Cookie=cookies, Content_Length=str(26 * 1024**2)).status == 413
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', ask(proxy, "GET", "/scan/", Cookie=cookies).text)[1]
    by_phone = sent | {"Cookie": cookies, "Content_Type": "multipart/form-data; boundary=edge"}
    assert ask(proxy, "POST", "/scan/", photo_form(token, 19 * 1024**2), **by_phone).status == 422, "no picture"


def photo_form(token: str, size: int) -> bytes:
    fields = f'--edge\r\nContent-Disposition: form-data; name="csrfmiddlewaretoken"\r\n\r\n{token}\r\n'
    fields += '--edge\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'
    return fields.encode() + bytes(size) + b"\r\n--edge--\r\n"
