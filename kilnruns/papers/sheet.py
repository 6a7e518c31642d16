"""A paper in words, as the page shows it and the printer draws it: the same object for both."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """What is told, and what is so; `strong` is what one came for."""

    label: str
    value: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    heading: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """`to` in its own lines; `total` of several packs; `limits` is what the paper does not say; `withdrawn` says when
    and why it no longer holds; `signatures` are the lines to sign on; `mark` is for comparing."""

    title: str
    mill: str
    issued: str
    to: tuple[str, ...]
    sections: tuple[Section, ...]
    total: str
    limits: tuple[str, ...]
    note: str
    signatures: tuple[str, ...]
    mark: str
    withdrawn: str = ""
