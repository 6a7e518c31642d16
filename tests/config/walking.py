"""A reader who follows every link that is shown, and sends each form as it stands."""

import re
from collections import Counter
from html import unescape
from urllib.parse import urljoin, urlsplit

from django.db import transaction
from django.test import Client
from django.urls import Resolver404, resolve

EACH = 2
"""So many pages of each address are looked at: one may have what another lacks."""
TAG = re.compile(r"<(a|form)\b([^>]*)>")
ATTRIBUTE = re.compile(r'\b(href|action|method)="([^"]*)"')
MONEY = re.compile(r"\d EUR\b|\bEUR a m³|\bCost\b")


def name_of(address: str) -> str:
    try:
        return str(resolve(urlsplit(address).path).url_name)
    except Resolver404:
        return ""


class Walk:
    """All pages that links lead to; `refused` is what was shown and then answered with 403."""

    def __init__(self, client: Client, begin: list[str]) -> None:
        self.client, self.waiting = client, begin
        self.looked, self.sent, self.refused = Counter[str](), set[str](), set[str]()
        self.pages: dict[str, str] = {}

    def go(self) -> None:
        known = set(self.waiting)
        while self.waiting:
            address = self.waiting.pop(0)
            if self.looked[name_of(address)] >= EACH:
                continue
            self.looked[name_of(address)] += 1
            for link in self.look(address) - known:
                known.add(link)
                self.waiting.append(link)

    def look(self, address: str) -> set[str]:
        response = self.client.get(address, follow=True)
        if response.status_code == 403:
            self.refused.add(f"GET {address}")
        if response.status_code != 200 or "text/html" not in response["Content-Type"]:
            return set()
        page = self.pages[address] = response.content.decode()
        found = set()
        for kind, rest in TAG.findall(page):
            given = dict(ATTRIBUTE.findall(rest))
            to = urljoin(address, unescape(given.get("href") or given.get("action") or address)).partition("#")[0]
            if kind == "form" and given.get("method") == "post":
                self._send(address, to)
            elif to.startswith("/") and name_of(to):
                found.add(to)
        return found

    def _send(self, page: str, address: str) -> None:
        if name_of(address) in self.sent | {"logout"}:
            return
        self.sent.add(name_of(address))
        with transaction.atomic():
            if self.client.post(address).status_code == 403:
                self.refused.add(f"POST {address} on {page}")
            transaction.set_rollback(True)

    @property
    def money(self) -> set[str]:
        """Pages that tell a price or a cost."""
        return {address for address, page in self.pages.items() if MONEY.search(re.sub(r"<[^>]*>", " ", page))}
