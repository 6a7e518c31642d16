#!/usr/bin/env python3
"""Drystack's one command. On a bare machine it first makes .venv and installs the pinned requirements.

python3 manage.py demo      the invented demo mill, on this machine
python3 manage.py serve     your own yard
python3 manage.py test      the whole test suite
python3 manage.py bench     the benchmarks
"""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
TEST_COMMANDS = {"test", "bench", "lint"}


def stop(message: str) -> None:
    sys.exit(f"manage.py: {message}")


def make_venv() -> None:
    print(f"Making a virtual environment in {VENV.name} ...", flush=True)
    try:
        import ensurepip  # noqa: F401
        import venv
    except ImportError:
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        stop(f"this Python lacks venv; install it first (Debian, Ubuntu: apt install python{version}-venv)")
    venv.create(VENV, with_pip=True, clear=VENV.exists())


def install(requirements: Path) -> None:
    """Install the pinned requirements once; a stamp of their content says when it is due again."""
    sources = (ROOT / "requirements.txt", requirements)
    stamp = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()
    mark = VENV / ("installed-runtime.txt" if requirements.parent == ROOT else "installed-tests.txt")
    if mark.exists() and mark.read_text() == stamp:
        return
    shown = requirements.relative_to(ROOT)
    print(f"Installing what {shown} names; this takes a minute or two ...", flush=True)
    command = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r", str(requirements)]
    if subprocess.run(command).returncode:
        stop(f"pip could not install {shown} (its reason stands above). Is there a network connection?")
    mark.write_text(stamp)


def run_in_venv() -> None:
    """Go on inside .venv, made ready first; returns at once when already there."""
    if os.environ.get("DRYSTACK_NO_VENV") or Path(sys.prefix).resolve() == VENV.resolve():
        return
    if sys.version_info < (3, 11):  # noqa: UP036 - an older Python must be told so in words
        stop(f"Python 3.11 or newer is needed, this is {sys.version.split()[0]}")
    if not PYTHON.exists() or subprocess.run([str(PYTHON), "-m", "pip", "--version"], capture_output=True).returncode:
        make_venv()
    wants_tests = len(sys.argv) > 1 and sys.argv[1] in TEST_COMMANDS
    install(ROOT / "requirements.txt" if not wants_tests else ROOT / "tests" / "requirements.txt")
    command = [str(PYTHON), str(ROOT / "manage.py"), *sys.argv[1:]]
    if os.name == "nt":
        sys.exit(subprocess.run(command).returncode)
    os.execv(PYTHON, command)  # noqa: S606 - our own interpreter, our own arguments


def main() -> None:
    run_in_venv()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv if len(sys.argv) > 1 else [sys.argv[0], "help"])


if __name__ == "__main__":
    main()
