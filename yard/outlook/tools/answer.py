"""What a calculator gives back: figures, codes of what to say beside them, or a refusal at a field."""

from dataclasses import dataclass, field

from yard.models.sourcewords import Part


@dataclass(frozen=True, slots=True)
class Answer:
    """Figures by name, None for one that there is not; `notes` are codes whose words the form has."""

    figures: dict[str, float | None]
    notes: tuple[str, ...] = ()
    sources: tuple[tuple[tuple[Part, ...], bool], ...] = field(default=())
    """Of the wood's own figures: its parts, and whether it was recalled rather than read."""


class RefusedError(ValueError):
    """What was typed can't be: the field to mend, a code whose words the form has, and the figures in those words."""

    def __init__(self, field_name: str, code: str, **figures: float) -> None:
        super().__init__(f"{field_name}: {code} {figures}")
        self.field_name, self.code, self.figures = field_name, code, figures
