"""What deploy/ and the guides name is there: settings, commands with their options, files, and the probe's answer."""

import ast
import http.client
import os
import re
import shlex
import subprocess
import sys
import threading
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

import pytest
from cheroot import wsgi
from django.conf import settings as project
from django.core.management import get_commands, load_command_class
from django.core.wsgi import get_wsgi_application
from django.db import connections

from config import settings as module

ROOT = Path(project.BASE_DIR)
DEPLOY = ROOT / "deploy"
GUIDES = [ROOT / name for name in ("DEPLOY.md", "HTTPS.md", "README.md", "SECURITY.md")]
UNITS = sorted(DEPLOY.glob("*.service"))
CONTAINERFILE = (DEPLOY / "Containerfile").read_text()
EXAMPLE = (DEPLOY / "drystack.env.example").read_text()
NAME = re.compile(r"\b(?:DRYSTACK_[A-Z_]+|DATABASE_URL|AWS_[A-Z0-9_]+)\b")
BY_ITS_LIBRARY = {"DATABASE_URL"} | {name for name in NAME.findall(module.__doc__ or "") if name.startswith("AWS_")}
NOT_ON_A_SERVER = {"DRYSTACK_DEBUG"}


def read_by_settings() -> set[str]:
    """The first argument of each reader of the environment that the settings call."""
    found = set()
    for node in ast.walk(ast.parse(Path(module.__file__).read_text())):
        if isinstance(node, ast.Call) and ast.unparse(node.func).startswith("environment."):
            found.add(ast.literal_eval(node.args[0]))
    return found


def test_each_setting_that_is_read_is_told_and_none_besides() -> None:
    read = read_by_settings()
    assert len(read) > 12
    assert set(re.findall(rf"(?m)^({NAME.pattern}) ", module.__doc__)) == read | {"DATABASE_URL"}
    assert set(re.findall(rf"(?m)^#?({NAME.pattern})=", EXAMPLE)) == (read | BY_ITS_LIBRARY) - NOT_ON_A_SERVER


def test_guides_and_files_name_no_setting_that_nothing_reads() -> None:
    known = read_by_settings() | BY_ITS_LIBRARY | {"DRYSTACK_NO_VENV"}  # the last one by manage.py
    assert '"DRYSTACK_NO_VENV"' in (ROOT / "manage.py").read_text()
    named = {(path.name, name) for path in [*GUIDES, *DEPLOY.iterdir()] for name in NAME.findall(path.read_text())}
    assert len(named) > 20
    assert sorted(pair for pair in named if pair[1] not in known) == []


def commands_named() -> set[tuple[str, str, tuple[str, ...]]]:
    """File, command and options of each `manage.py …` in the guides and the units, and of the image's."""
    found = set()
    for path in [*GUIDES, *UNITS]:
        text = path.read_text().replace("\\\n", " ")
        for command, rest in re.findall(r"manage\.py ([a-z_]+)([^\n`;|&#]*)", text):
            found.add((path.name, command, tuple(re.findall(r"(?<!\S)--[a-z-]+", rest))))
    for line in re.findall(r"manage\.py ([a-z]+[^&\n]*)", CONTAINERFILE):
        command, *rest = shlex.split(line)
        found.add(("Containerfile", command, tuple(rest)))
    command, *rest = ast.literal_eval(re.search(r"(?m)^CMD (\[.*\])", CONTAINERFILE)[1])
    return found | {("Containerfile", command, tuple(word for word in rest if word.startswith("--")))}


def test_each_command_that_is_named_is_there_with_its_options() -> None:
    named = commands_named()
    assert {"serve", "worker", "listen", "vendor", "restore"} <= {command for _file, command, _options in named}
    known, wrong = get_commands(), []
    for file, command, options in sorted(named):
        if command not in known:
            wrong.append(f"{file}: {command}")
            continue
        parser = load_command_class(known[command], command).create_parser("manage.py", command)
        wrong += [f"{file}: {command} {one}" for one in options if one not in parser._option_string_actions]
    assert wrong == []


def test_each_file_that_is_there_is_in_the_guide_and_the_other_way_round() -> None:
    guide = (ROOT / "DEPLOY.md").read_text()
    table = {name for row in re.findall(r"(?m)^\| (`.*?) \|", guide) for name in re.findall(r"`([^`]+)`", row)}
    assert table == {path.name for path in DEPLOY.iterdir() if path.is_file()}
    named = re.findall(r"(?<![\w/])(?:tests|deploy)/[\w./*]*\w", guide)
    assert len(named) > 8
    assert [name for name in named if not list(ROOT.glob(name))] == []


def into_the_image(name: str) -> bool:
    """Whether .dockerignore lets the file through: a pattern is of the whole path, from any depth after `**/`."""
    whole = Path(name)
    for pattern in (ROOT / ".dockerignore").read_text().split():
        parts = Path(pattern.removeprefix("**/")).parts
        for one in [whole, *whole.parents]:
            own = one.parts[-len(parts) :] if pattern.startswith("**/") else one.parts
            if len(own) == len(parts) and all(map(fnmatch, own, parts)):
                return False
    return True


@pytest.mark.parametrize(
    "name", [".git/config", ".venv/bin/python", ".data/yard/secret-key", "deploy/drystack.env", "old/yard.sqlite3"]
)
def test_what_is_of_this_machine_stays_out_of_the_image(name: str) -> None:
    assert not into_the_image(name)


def test_the_image_has_what_its_steps_want() -> None:
    sources = {word for line in re.findall(r"(?m)^COPY (.+) \S+$", CONTAINERFILE) for word in line.split()}
    assert sources == {"requirements.txt", "."}
    wanted = ["requirements.txt", "manage.py", "package.json", "package-lock.json", ".npmrc"]
    wanted += [*re.findall(r"deploy/\w+\.py", CONTAINERFILE), "config/locale/de/LC_MESSAGES/django.po"]
    for name in wanted:
        assert (ROOT / name).is_file() and into_the_image(name), name
    version = re.search(r"(?m)^FROM \S+/python:(\d+)\.(\d+)-", CONTAINERFILE)
    least = re.search(r"sys.version_info < \((\d+), (\d+)\)", (ROOT / "manage.py").read_text())
    assert tuple(map(int, version.groups())) >= tuple(map(int, least.groups()))
    tools = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]
    assert tools["mypy"]["python_version"] == ".".join(version.groups()), "the one that is checked for"


def test_the_image_runs_as_nobody_special_on_the_volume_that_the_settings_name() -> None:
    steps = re.findall(r"(?m)^([A-Z]+) (.*)", CONTAINERFILE)
    names = [name for name, _rest in steps]
    assert names.index("USER") < names.index("ENTRYPOINT") and dict(steps)["USER"] == "drystack"
    volume = dict(steps)["VOLUME"]
    assert f"DRYSTACK_DATA={volume}" in CONTAINERFILE
    data = re.search(r"(?m)^DRYSTACK_DATA=(.+)", EXAMPLE)[1]
    assert f"ln -s {volume} {data}" in CONTAINERFILE, "one file of settings serves both"
    for unit in UNITS:
        assert f"KillSignal={dict(steps)['STOPSIGNAL']}" in unit.read_text()
        assert f"ReadWritePaths={data}\n" in unit.read_text()


@pytest.fixture
def https_alone(settings, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The port of a server of its own: what it read of the settings at its start it keeps."""
    settings.SECURE_SSL_REDIRECT = True
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    monkeypatch.setitem(connections.settings["default"], "CONN_MAX_AGE", 0)
    server = wsgi.Server(("127.0.0.1", 0), get_wsgi_application(), numthreads=2)
    server.prepare()
    threading.Thread(target=server.serve, daemon=True).start()
    yield str(server.bind_addr[1])
    server.stop()


@pytest.mark.django_db(transaction=True)
def test_the_probe_is_answered_though_only_https_is_taken(https_alone: str) -> None:
    port = https_alone
    # the first request loads what a server has loaded long since; the probe does not wait for that
    line = http.client.HTTPConnection("localhost", int(port))
    line.request("GET", "/probe", headers={"X-Forwarded-Proto": "https"})
    assert line.getresponse().status == 200
    line.close()
    probe = [sys.executable, str(DEPLOY / "healthy.py")]
    names = os.environ | {"DRYSTACK_HOSTS": "localhost, other.example"}
    well = subprocess.run([*probe, port], env=names, capture_output=True, text=True, check=False)
    assert (well.returncode, well.stderr) == (0, "")
    other = subprocess.run([*probe, "1"], env=names, capture_output=True, text=True, check=False)
    assert other.returncode == 1 and other.stderr.startswith("http://127.0.0.1:1/probe: ")
    assert other.stderr.count("\n") == 1
