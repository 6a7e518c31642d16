"""Sheets of needs: a row a line. Round trips, what each row would do, what is refused in words."""

from datetime import UTC, date, datetime

import pytest
from django.utils import timezone

from tests.factories import SpeciesFactory, UserFactory
from yard.actions import needs
from yard.actions.sentsheets import take
from yard.exchange import sheets
from yard.exchange.fates import counted
from yard.models import Importance, Need, NeedLine, SentSheet

pytestmark = pytest.mark.django_db
HEAD = "need;wanted_by;use;line;species;thickness_mm;width_mm;length_mm;quantity;unit\n"
DAY = date(2027, 3, 1)


@pytest.fixture
def woods():
    return SpeciesFactory(name="Testspruce", key="spruce"), SpeciesFactory(name="Testoak", key="oak")


@pytest.fixture
def wanted(woods):
    """A table of two lines, one of them of either wood; a need of the same name and another day; one without lines."""
    table = needs.add_need(name="=Table", wanted_by=DAY, use="furniture", target_pct=8.5, note="'so", by=None,
                           importance=Importance.HIGH)  # fmt: skip
    size = {"thickness_mm": 21.5, "width_mm": 120, "length_mm": 1800}
    needs.add_line(need=table, species=woods, quantity=12, unit="pieces", by=None, **size)
    needs.add_line(need=table, species=woods[:1], thickness_mm=30, quantity=0.375, unit="m3", by=None)
    other = needs.add_need(name="=Table", wanted_by=date(2027, 5, 1), use="floor", target_pct=8, by=None)
    needs.add_line(need=other, species=woods[1:], thickness_mm=20, width_mm=90, quantity=40, unit="m", by=None)
    needs.add_need(name="Fence", wanted_by=DAY, use="outdoor", target_pct=16, by=None)
    return table


def fates(content):
    content = content if isinstance(content, bytes) else content.encode()
    return sheets.fates("needs", content, timezone.now())


def bring(content):
    person, found = UserFactory(), fates(content)
    sheet = SentSheet.objects.create(by=person, kind="needs", name="a", content=b"", sent_at=timezone.now())
    take(sheet=sheet, steps=[one.step for one in found if one.step], by=person, at=timezone.now())
    return found


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_what_went_out_comes_back_the_same(wanted, form):
    counts = counted(fates(sheets.export("needs", form)))
    assert counts == {"new": 0, "changed": 0, "same": 4, "refused": 0}


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_yard_without_needs_gives_out_what_it_was_given(wanted, form):
    sent, csv = sheets.export("needs", form), sheets.export("needs", "csv")
    Need.objects.all().delete()
    assert counted(bring(sent))["new"] == 4
    assert sheets.export("needs", "csv") == csv
    assert counted(fates(sent))["same"] == 4
    assert Need.objects.get(wanted_by=DAY, name="=Table").lines.count() == 2


def test_digits_that_a_workbook_does_not_hold_are_no_change(wanted):
    wanted.lines.filter(unit="m3").update(quantity=0.1 + 0.2)
    assert counted(fates(sheets.export("needs", "xlsx")))["same"] == 4


def test_met_needs_stay_out_and_are_not_made_again(wanted):
    sent = sheets.export("needs", "csv")
    needs.meet(need=wanted, by=None, at=timezone.now())
    Need.objects.get(wanted_by=date(2027, 5, 1)).delete()
    found = fates(sent)
    assert [fate.faults[0][0] for fate in found if fate.kind == "refused"][:2] == ["need", "need"]
    assert b"Table" not in sheets.export("needs", "csv")


def test_a_line_is_changed_by_its_number_and_the_rest_stays(wanted):
    content = "need;wanted_by;line;quantity;note\nFence;2027-03-01;;;\n=Table;2027-03-01;1;14;new note\n"
    same, changed = bring(content)
    assert (same.kind, changed.kind) == ("same", "changed")
    assert changed.changes == [("note", "'so", "new note"), ("quantity", "12", "14")]
    wanted.refresh_from_db()
    assert wanted.note == "new note"
    first, second = wanted.lines.all()
    assert (first.quantity, first.width_mm, first.species.count()) == (14, 120, 2)
    assert second.quantity == 0.375


def test_a_new_day_is_told_once_for_all_rows_of_a_need(woods):
    need = needs.add_need(name="Door", wanted_by=DAY, target_pct=10, by=None)
    for thickness_mm in (20, 30):
        needs.add_line(need=need, species=woods[:1], thickness_mm=thickness_mm, quantity=1, unit="m3", by=None)
    found = bring(sheets.export("needs", "csv").replace(b"2027-03-01", b"2027-04-01"))
    assert [fate.changes for fate in found] == [[("wanted_by", "2027-03-01", "2027-04-01")], []]
    need.refresh_from_db()
    assert need.wanted_by == date(2027, 4, 1)


def test_rows_without_a_number_are_new_lines_and_the_sheet_sent_twice_adds_nothing(woods):
    rows = "Stairs;2027-03-01;joinery;;OAK;40;250;1000;14;pieces\nStairs;2027-03-01;joinery;;oak; 27 ;;;2,5;m2\n"
    found = bring(HEAD + rows)
    assert [fate.kind for fate in found] == ["new", "new"]
    (need,) = Need.objects.all()
    assert (need.target_pct, need.importance) == (12, Importance.USUAL)  # the handbook's for joinery
    assert [(one.quantity, one.unit) for one in need.lines.all()] == [(14, "pieces"), (2.5, "m2")]
    assert counted(fates(HEAD + rows)) == {"new": 0, "changed": 0, "same": 2, "refused": 0}
    again = bring(HEAD + rows + "Stairs;2027-03-01;joinery;;oak;27;;;2.5;m2\n")
    assert [fate.kind for fate in again] == ["same", "same", "new"]
    assert NeedLine.objects.count() == 3


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ("joinery;;birch;40;250;1000;14;pieces", "species", "no species"),
        ("joinery;;;40;250;1000;14;pieces", "species", "needed"),
        ("joinery;;oak;40;;1000;14;pieces", "width_mm", "need their width"),
        ("joinery;;oak;40;250;1000;1.5;pieces", "quantity", "whole number"),
        ("joinery;;oak;40;;;14;m", "width_mm", "Metres need"),
        ("joinery;;oak;400;;;14;m3", "thickness_mm", "98"),
        ("joinery;;oak;40;;;14;feet", "unit", "write one of"),
        ("boat;;oak;40;;;14;m3", "use", "write one of"),
        (";;oak;40;;;14;m3", "target_pct", "what it is for"),
        ("joinery;;oak;;;;14;m3", "thickness_mm", "needed"),
    ],
)
def test_a_bad_row_is_refused_at_its_column(woods, cells, column, words):
    bad, good = fates(f"{HEAD}Stairs;2027-03-01;{cells}\nStairs;2027-03-01;joinery;;oak;27;;;2;m2\n")
    assert (bad.kind, good.kind) == ("refused", "new")
    assert [name for name, _why in bad.faults] == [column]
    assert words in bad.faults[0][1]


def test_rows_that_speak_against_each_other_are_refused(wanted):
    rows = (
        "=Table;2027-03-01;;1;oak;20;120;1800;12;pieces\n"
        "=Table;2027-03-01;floor;2;oak;20;;;1;m3\n"
        "=Table;2027-03-01;joinery;2;oak;20;;;1;m3\n"
        "=Table;2027-03-01;;1;oak;20;;;1;m3\n"
        "=Table;2027-03-01;;3;oak;20;;;1;m3\n"
        "=Table;2027-04-01;;1;oak;20;;;1;m3\n"
    )
    found = fates(HEAD + rows)
    assert [fate.kind for fate in found] == ["changed", "changed", "refused", "refused", "refused", "refused"]
    assert [fate.faults[0][0] for fate in found[2:]] == ["use", "line", "line", "need"]
    assert "floor" in found[2].faults[0][1]


def test_the_example_is_read_by_the_columns_that_made_it():
    SpeciesFactory(name="Norway spruce")
    (fate,) = sheets.fates("needs", sheets.example("needs", "xlsx"), datetime(2027, 1, 1, tzinfo=UTC))
    assert fate.kind == "new"
