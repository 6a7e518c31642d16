"""A page as a reader of the screen has it: Chromium's accessibility tree in order, not the markup it is made of."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

LANDMARKS = frozenset({"banner", "complementary", "contentinfo", "form", "main", "navigation", "region", "search"})
CONTROLS = frozenset(
    {"button", "checkbox", "combobox", "Date", "DateTime", "DisclosureTriangle", "InputTime", "link", "listbox"}
    | {"radio", "searchbox", "slider", "spinbutton", "switch", "tab", "textbox"}
)
GROUPS = frozenset({"Date", "DateTime", "group", "InputTime", "radiogroup", *LANDMARKS})  # the parts of a day in it


@dataclass(frozen=True)
class Heard:
    """One thing of a page, with the names of the groups that it stands in."""

    role: str
    name: str
    level: int = 0
    url: str = ""
    within: tuple[str, ...] = ()


def heard(tree: Any) -> list[Heard]:
    """All of the page that is open but plain text. `tree`: a CDP session of it."""
    nodes = {node["nodeId"]: node for node in tree.send("Accessibility.getFullAXTree")["nodes"]}
    root = next(node for node in nodes.values() if "parentId" not in node)
    return list(_walk(nodes, root, ()))


def _walk(nodes: dict[str, Any], node: dict[str, Any], within: tuple[str, ...]) -> Iterator[Heard]:
    role, name, more = value(node, "role"), value(node, "name"), properties(node)
    if not node.get("ignored"):
        yield Heard(role, name, int(more.get("level") or 0), str(more.get("url") or ""), within)
        within += (name,) if role in GROUPS and name else ()
    for key in node.get("childIds", []):
        if key in nodes:
            yield from _walk(nodes, nodes[key], within)


def value(node: dict[str, Any], what: str) -> str:
    """Role, name or description of a node of the tree."""
    return " ".join(str(node.get(what, {}).get("value", "")).split())


def properties(node: dict[str, Any]) -> dict[str, Any]:
    """Level, address, whether it is invalid and the like."""
    return {one["name"]: one["value"].get("value") for one in node.get("properties", [])}


def muddles(page: list[Heard]) -> list[str]:
    """What whoever only hears the page could not tell apart, or would miss. Nothing is wanted."""
    return [*headings(page), *landmarks(page), *controls(page)]


def headings(page: list[Heard]) -> Iterator[str]:
    found = [one for one in page if one.role == "heading"]
    if [one.level for one in found].count(1) != 1 or found[0].level != 1:
        yield f"a page has one heading of the first level, before all others: {found}"
    for one in found:
        if not one.name:
            yield f"a heading without words: {one}"
    for before, after in pairwise(found):
        if after.level > before.level + 1:
            yield f"a level is left out between {before} and {after}"


def landmarks(page: list[Heard]) -> Iterator[str]:
    # a form is a landmark where it has a name
    found = [(one.role, one.name) for one in page if one.role in LANDMARKS and (one.name or one.role != "form")]
    if [role for role, _name in found].count("main") != 1:
        yield f"a page has one main part: {found}"
    yield from (f"two landmarks are told alike: {one}" for one in sorted(set(found)) if found.count(one) > 1)


def controls(page: list[Heard]) -> Iterator[str]:
    """Each has a name; those of one name in one group under one heading are links to the same place."""
    leads: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    under = ""
    for one in page:
        if one.role == "heading":
            under = one.name
        elif one.role in CONTROLS:
            if not one.name:
                yield f"a {one.role} without a name, within {one.within}, under {under}"
            leads.setdefault((one.role, one.name, (*one.within, under)), []).append(one.url)
    for (role, name, within), urls in leads.items():
        if len(urls) > 1 and not (role == "link" and len(set(urls)) == 1):
            yield f"{len(urls)} times {role} {name!r} within {within}"
