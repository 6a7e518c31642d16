"""Sample boards: what was reckoned from a meter in the first days is made good when the sections are dry."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from yard import outlook
from yard.changes import Watched, keeps, kept, rows_of_stacks
from yard.models import Event, Method, Reading, SampleBoard, log

WETTEST_PCT = 250  # as the table of readings takes it


@transaction.atomic
def keep_sample(*, board: SampleBoard, by: Any, at: datetime) -> None:
    """A new sample board of a stack, and a line in its history."""
    with kept("sampled", Watched([board.stack]), by=by, at=at) as act:
        board.save()
        act.has_made(board)
        log([board.stack], Event.Kind.SAMPLE, at=at, by=by, sample_board=board.label)


@transaction.atomic
@keeps("made_good", lambda board, **_given: rows_of_stacks([board.stack], "sample_boards", "readings"))
def make_good(*, board: SampleBoard, dry_g: Sequence[float], by: Any, at: datetime, is_right: bool = False) -> int:
    """Take the oven-dry masses of a provisional board's sections, and reckon all its weighings anew.

    Gives how many weighings that were. Raises ValidationError when others are there already (unless somebody has said
    that these are right), when there is not one for each section, or when a weighing would then be of no wood.
    """
    board = SampleBoard.objects.select_for_update().select_related("stack__species").get(pk=board.pk)
    if not board.provisional and not is_right:
        raise ValidationError(_("The oven-dry masses of this board are kept already."))
    if len(dry_g) != len(board.section_masses_g):
        raise ValidationError(_("Give the oven-dry mass of each section."))
    try:
        board.section_masses_g = [[wet, dry] for (wet, _dry), dry in zip(board.section_masses_g, dry_g, strict=True)]
        board.oven_dry_mass_g = outlook.oven_dry_mass_g(board.green_mass_g, board.section_masses_g)
        board.save(update_fields=["section_masses_g", "oven_dry_mass_g"])
        count = _weigh_anew(board)
    except ValueError as error:
        words = _("With these masses a weighing of this board would be of no wood; look at the figures again.")
        raise ValidationError(words) from error
    log([board.stack], Event.Kind.CORRECTED, at=at, by=by, sample_board=board.label, weighings=count)
    if count:
        outlook.refresh([board.stack])
    return count


def _weigh_anew(board: SampleBoard) -> int:
    """Reckon the valid readings that this board was weighed for anew; gives how many. ValueError for no wood."""
    stack = board.stack
    dry_g = {one.label: one.oven_dry_mass_g for one in stack.sample_boards.all()}
    weighed = stack.readings.valid().filter(method=Method.SAMPLE_BOARD)
    readings = [one for one in weighed if board.label in one.sample_labels and set(one.sample_labels) <= set(dry_g)]
    for one in readings:
        masses = [dry_g[label] for label in one.sample_labels]
        found = outlook.correct(one.method, one.raw, None, "", stack.species, oven_dry_g=masses)
        one.corrected_pct = [round(value, 2) for value in found.values_pct]
        one.moisture_pct = round(found.mean_pct, 2)
        if one.moisture_pct > WETTEST_PCT:
            raise ValueError(f"moisture of {one.moisture_pct:g} % is above {WETTEST_PCT} %")
    Reading.objects.bulk_update(readings, ["corrected_pct", "moisture_pct"])
    return len(readings)
