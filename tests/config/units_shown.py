"""Which pages show a figure in units that their reader did not choose."""

import re
from collections.abc import Iterable
from html.parser import HTMLParser
from typing import Any

from yard.models import Person

METRIC = re.compile(r"(?<![\w²³])(mm|cm|m|m²|m³|kg|°C|kg/m³|m/s)(?![\w²³/])")
IMPERIAL = re.compile(r"\d\u202fin(?!\w)|\d[\s\u202f](lb|bd ft|ft³|ft|°F)(?!\w)|\d['\"](?!\w)|(?<=\s)\d+/4 ")
ALLOWED = {
    "metric": {
        "me": "names both systems",
        "meter": "the rules beside the chart as published, one in °F and one in K",
        "guide": "what a device sends is SI",
    },
    "imperial": {
        "me": "names both systems",
        "exchange": "sheets stay SI, with the unit in the column's name",
        "tags": "labels are made in mm, as printers and their paper are",
        "guide": "what a device sends is SI",
        "tools": "sources as published; a link made in metric is shown as it was typed",
        "find": "a link made in metric is shown as it was typed",
        "sort-out": "what a phone sent, in the words that it showed",
    },
}
LEFT_OUT = {"script", "style", "svg", "template", "head"}


class Text(HTMLParser):
    """What is read on a page, without drawings, which a table beside each tells in words, and without what is quoted
    from a source in the source's own language."""

    def __init__(self) -> None:
        super().__init__()
        self.inside: list[str] = []
        self.parts: list[str] = []

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        if tag in LEFT_OUT or (tag != "html" and "lang" in dict(attrs)):
            self.inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.inside and self.inside[-1] == tag:
            self.inside.pop()

    def handle_data(self, data: str) -> None:
        if not self.inside:
            self.parts.append(data)


def text_of(page: str) -> str:
    parser = Text()
    parser.feed(page)
    return " ".join(re.split(r"[^\S\u202f]+", " ".join(parser.parts)))


def allowed(units: str, address: str) -> bool:
    return not ALLOWED[units].keys().isdisjoint(address.partition("?")[0].split("/"))


def shown_wrong(client: Any, user: Any, addresses: Iterable[str]) -> list[str]:
    """Of each page in either system, the first figures that are in the other one."""
    wrong = []
    for units, other in (("metric", IMPERIAL), ("imperial", METRIC)):
        Person.objects.update_or_create(user=user, defaults={"units": units})
        for address in addresses:
            if allowed(units, address):
                continue
            text = text_of(client.get(address, follow=True).content.decode())
            found = [text[max(0, one.start() - 40) : one.end() + 15] for one in other.finditer(text)]
            wrong += [f"{units} {address}: {' | '.join(found[:4])}"] if found else []
    return wrong
