"""What the pages drawn on a phone leave out for its reader: the addresses that their role may not send to."""

from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from yard.actions.roles import is_sent, may_send, role_of


def barred(user: Any) -> list[str]:
    """As regular expressions of JavaScript's, in the order of the table of addresses."""
    role = role_of(user)
    rows = _patterns(get_resolver(), "^/")
    return [_script(path) for name, path in rows if is_sent(name) and not may_send(role, name)]


def _patterns(resolver: URLResolver, before: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for one in resolver.url_patterns:
        path = before + str(one.pattern.regex.pattern).removeprefix("^")
        if isinstance(one, URLPattern):
            found.append((one.name or "", path))
        else:
            found += _patterns(one, path)
    return found


def _script(path: str) -> str:
    return path.replace("(?P<", "(?<").replace(r"\Z", "$")
