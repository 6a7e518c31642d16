"""What a new machine installs is what was tested: each library that ours bring along is pinned, as it is installed."""

import re
from importlib.metadata import distribution

from django.conf import settings
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

BROUGHT = "# What these bring along"
Pins = dict[str, Requirement]


def pinned() -> tuple[Pins, Pins]:
    """Of requirements.txt, by name: what is asked for, and what that brings along."""
    asked, brought = (settings.BASE_DIR / "requirements.txt").read_text().split(BROUGHT)
    return pins(asked.splitlines()), pins(brought.splitlines()[1:])


def pins(lines: list[str]) -> Pins:
    words = [line.split("#")[0].strip() for line in lines]
    return {canonicalize_name(one.name): one for one in map(Requirement, filter(None, words))}


def brought_along(roots: list[Requirement]) -> dict[str, str]:
    """Versions installed here of all that these need, by name."""
    found: dict[str, str] = {}
    seen, ahead = set(), [(one.name, frozenset(one.extras)) for one in roots]
    while ahead:
        name, extras = ahead.pop()
        if (canonicalize_name(name), extras) in seen:
            continue
        seen.add((canonicalize_name(name), extras))
        installed = distribution(name)
        found[canonicalize_name(name)] = installed.version
        for needed in map(Requirement, installed.requires or []):
            if not needed.marker or any(needed.marker.evaluate({"extra": extra}) for extra in extras or {""}):
                ahead.append((needed.name, frozenset(needed.extras)))
    return found


def test_all_that_is_installed_for_the_yard_is_pinned_to_its_version_and_nothing_besides() -> None:
    asked, brought = pinned()
    told = {name: re.sub("^==", "", str(one.specifier)) for name, one in (asked | brought).items()}
    assert told == brought_along(list(asked.values()))
