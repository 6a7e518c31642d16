"""What is known against the installed libraries, as pip-audit is told by PyPI; and whether it was told anything."""

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

ANSWER_SECONDS = 10
MOST_SECONDS = 300
COMMAND = ["--local", "--format", "json", "--progress-spinner", "off", "--timeout", str(ANSWER_SECONDS)]


@dataclass(frozen=True)
class Audit:
    """`known`: a line each vulnerability. `asked` libraries were looked up, `unasked` ones could not be. `trouble`
    says why there is no answer at all."""

    known: tuple[str, ...] = ()
    asked: int = 0
    unasked: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def says_something(self) -> bool:
        return bool(self.asked)


def audit() -> Audit:
    """Ask for everything in this environment, what is installed by way of others too."""
    command = [str(Path(sys.executable).parent / "pip-audit"), *COMMAND]
    try:
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=MOST_SECONDS)
    except (OSError, subprocess.TimeoutExpired) as error:
        return Audit(trouble=f"pip-audit did not run to its end ({error})")
    return told(done.stdout, done.stderr)


def told(answer: str, errors: str) -> Audit:
    """What pip-audit's answer says. It calls libraries clean that it could not ask for: those are counted apart."""
    try:
        libraries = json.loads(answer)["dependencies"]
    except (ValueError, KeyError, TypeError):
        said = errors.strip().splitlines() or ["it said nothing"]
        return Audit(trouble=said[-1][:300])
    unasked = tuple(one["name"] for one in libraries if "skip_reason" in one)
    known = tuple(_line(one, found) for one in libraries for found in one.get("vulns", ()))
    return Audit(known=known, asked=len(libraries) - len(unasked), unasked=unasked)


def _line(library: dict[str, str], found: dict[str, list[str]]) -> str:
    mended = ", ".join(found.get("fix_versions", [])) or "none yet"
    return f"{library['name']} {library['version']}: {found['id']} (mended in: {mended})"
