"""What a page says against a form, by field: read off the page itself, so that each form tells the outbox too."""

from html.parser import HTMLParser

CONTAINERS = frozenset({"field", "tally-row"})
CONTROLS = frozenset({"input", "select", "textarea"})
BLOCKS = frozenset({"div", "fieldset"})
WHOLE = ""
"""The key of what concerns the form as a whole."""


def refusals(page: str) -> dict[str, list[str]]:
    """Errors by the name of their field, WHOLE for the form's own; in the page's order."""
    reader = _Reader()
    reader.feed(page)
    return reader.found


class _Reader(HTMLParser):
    """Errors are `.error` paragraphs, in a field's block after its control, or items of `.form-errors`."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[str]] = {}
        self._blocks: list[bool] = []
        self._control = WHOLE
        self._listed = False
        self._text: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        classes = set((given.get("class") or "").split())
        if tag in BLOCKS:
            self._blocks.append(bool(classes & CONTAINERS))
        elif tag in CONTROLS:
            self._control = given.get("name") or WHOLE
        elif tag == "ul":
            self._listed = "form-errors" in classes
        if (tag == "p" and "error" in classes) or (tag == "li" and self._listed):
            self._text = []

    def handle_endtag(self, tag: str) -> None:
        if tag in BLOCKS and self._blocks:
            self._blocks.pop()
        elif tag == "ul":
            self._listed = False
        if tag in {"p", "li"} and self._text is not None:
            self._keep(" ".join("".join(self._text).split()))

    def handle_data(self, data: str) -> None:
        if self._text is not None:
            self._text.append(data)

    def _keep(self, text: str) -> None:
        name = self._control if any(self._blocks) else WHOLE
        self._text = None
        if text:
            self.found.setdefault(name, []).append(text)
