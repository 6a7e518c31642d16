"""Sheets out of the yard and into it: round trips, what each row would do, what is refused in words."""

import io
from datetime import UTC, date, datetime

import openpyxl
import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.factories import (
    BoardFactory,
    KilnPlaceFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
    TagFactory,
    UserFactory,
)
from yard.actions import needs
from yard.actions import readings as reading_actions
from yard.actions.sentsheets import take
from yard.exchange import files, sheets
from yard.exchange.cells import guarded, text_of, unguarded
from yard.exchange.columns import SHEETS, STACKS
from yard.exchange.fates import counted
from yard.models import Board, Event, Reading, SampleBoard, SentSheet, Stack, Tag
from yard.models.tagcode import new_code

pytestmark = pytest.mark.django_db
HEAD = "tag;species;place;thickness_mm;sawn_on;tally\n"


@pytest.fixture
def yard():
    """Two stacks, one with text that a spreadsheet might run; a board; readings of three methods."""
    spruce, oak = SpeciesFactory(name="Testspruce"), SpeciesFactory(name="Testoak")
    shed = PlaceFactory(name="Long shed")
    one = StackFactory(species=spruce, place=shed, note='=1+1; "so"\nnext, line', value_per_m3=412.35)
    two = StackFactory(species=oak, place=shed, thickness_mm=31.25, lines=[(2400, 175, 12), (3000, 150, 8)])
    two.set_aside_for, two.kiln_dried_on = "'-the stairs", date(2025, 8, 1)
    two.save()
    board = BoardFactory(stack=two, note="@crotch")
    keep = {"by": None, "taken_at": timezone.now().replace(microsecond=123456)}
    reading_actions.add_reading(stack=one, method="pins", raw=[24.1, 22.6], wood_temperature_c=14.5, **keep)
    reading_actions.add_reading(stack=two, method="capacitance", raw=[12.0], board=board, **keep)
    reading_actions.add_reading(stack=two, method="oven_dry", raw=[[210.5, 180.0]], **keep)
    return {"one": one, "two": two, "board": board}


def fates(key, content, now=None):
    return sheets.fates(key, content if isinstance(content, bytes) else content.encode(), now or timezone.now())


def bring(key, content):
    """Take a file as its sender would, once looked through."""
    person = UserFactory()
    found = fates(key, content)
    sheet = SentSheet.objects.create(by=person, kind=key, name="a", content=b"", sent_at=timezone.now())
    take(sheet=sheet, steps=[one.step for one in found if one.step], by=person, at=timezone.now())
    return found


def a_need(name, species, **fields):
    """A need with one line of boards in random lengths."""
    need = needs.add_need(name=name, wanted_by=date(2027, 3, 1), by=None, **fields)
    needs.add_line(need=need, species=[species], thickness_mm=21.5, quantity=1.25, unit="m3", by=None)
    return need


def queries_of_trying(key):
    """How many queries it takes to give the yard's rows out and to try them."""
    with CaptureQueriesContext(connection) as caught:
        fates(key, sheets.export(key, "csv"))
    return len(caught)


@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize(("key", "rows"), [("stacks", 2), ("boards", 1), ("readings", 3)])
def test_what_went_out_comes_back_the_same(yard, key, rows, form):
    counts = counted(fates(key, sheets.export(key, form)))
    assert counts == {"new": 0, "changed": 0, "same": rows, "refused": 0}


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_an_empty_yard_gives_out_what_it_was_given(yard, form, django_capture_on_commit_callbacks):
    sent = {key: sheets.export(key, form) for key in SHEETS}
    csv = {key: sheets.export(key, "csv") for key in SHEETS}
    Reading.objects.all().delete()
    Tag.objects.all().delete()
    Board.objects.all().delete()
    Stack.objects.all().delete()
    with django_capture_on_commit_callbacks(execute=True):
        for key, content in sent.items():
            bring(key, content)
    assert {key: sheets.export(key, "csv") for key in SHEETS} == csv
    assert Event.objects.filter(kind="stacked").count() == 2
    assert set(Stack.objects.values_list("tags__code", flat=True)) == set(Stack.objects.values_list("code", flat=True))
    assert Stack.objects.get(outlook__isnull=False).species.name == "Testspruce"  # the other is dry stock


def test_both_kinds_of_file_hold_the_same_cells(yard):
    for key in SHEETS:
        sheet = files.read(sheets.export(key, "xlsx"), SHEETS[key])
        text = files.read(sheets.export(key, "csv"), SHEETS[key])
        assert [cells for _line, cells in sheet] == [cells for _line, cells in text]


def test_changes_are_told_before_and_after_and_written_by_the_yards_actions(yard):
    PlaceFactory(name="Dry store")
    stack = yard["one"]
    row = f"{stack.code};Testoak;dry store;27,5;2025-04-03;4000x150x39\n"
    (fate,) = fates("stacks", HEAD + row)
    assert fate.kind == "changed"
    assert ("thickness_mm", "27", "27.5") in fate.changes
    assert ("species", "Testspruce", "Testoak") in fate.changes
    assert ("tally", "4000x150x40", "4000x150x39") in fate.changes
    stack.refresh_from_db()
    assert stack.thickness_mm == 27
    bring("stacks", HEAD + row)
    stack.refresh_from_db()
    assert (stack.thickness_mm, stack.place.name, stack.board_count) == (27.5, "Dry store", 39)
    assert {"corrected", "moved"} <= set(stack.events.values_list("kind", flat=True))
    assert stack.value_per_m3 == 412.35  # its column was not in the file


@pytest.mark.parametrize(
    ("cell", "column", "words"),
    [
        ("Testspruc;Long shed;27;2025-04-03;4000x150x4", "species", "no such species"),
        ("Testspruce;Lost shed;27;2025-04-03;4000x150x4", "place", "no such place"),
        ("Testspruce;Oven;27;2025-04-03;4000x150x4", "place", "kiln"),
        ("Testspruce;Long shed;270;2025-04-03;4000x150x4", "thickness_mm", "100"),
        ("Testspruce;Long shed;27;3 April;4000x150x4", "sawn_on", "2026-05-03"),
        ("Testspruce;Long shed;27;2225-04-03;4000x150x4", "sawn_on", "still to come"),
        ("Testspruce;Long shed;27;2025-04-03;4000 by 150", "tally", "is no line"),
        ("Testspruce;Long shed;27;2025-04-03;", "tally", "needed"),
    ],
)
def test_a_bad_row_is_refused_at_its_column(yard, cell, column, words):
    KilnPlaceFactory(name="Oven")
    good = ";Testspruce;Long shed;27;2025-04-03;4000x150x4\n"
    bad, well = fates("stacks", f"{HEAD};{cell}\n{good}")
    assert (bad.kind, well.kind) == ("refused", "new")
    assert [name for name, _why in bad.faults] == [column]
    assert words in bad.faults[0][1]


def test_tags_in_use_wrong_or_twice_are_refused(yard):
    tail = ";Testspruce;Long shed;27;2025-04-03;4000x150x4\n"
    code, fresh = yard["board"].code, new_code()
    wrong = fresh[:-1] + ("2" if fresh[-1] != "2" else "3")
    found = fates("stacks", HEAD + code + tail + wrong + tail + fresh + tail + fresh + tail)
    assert [fate.kind for fate in found] == ["refused", "refused", "new", "refused"]
    assert all(fate.faults[0][0] == "tag" for fate in found if fate.faults)


def test_a_blank_tag_of_this_yard_is_hung(yard):
    tag = TagFactory()
    bring("stacks", f"{HEAD}{tag.code};Testspruce;Long shed;27;2025-04-03;4000x150x4\n")
    tag.refresh_from_db()
    assert tag.stack.board_count == 4


@pytest.mark.parametrize("day", ["2025-04-03", "3.4.2025", "45750"])
def test_days_as_people_and_workbooks_write_them(yard, day):
    (fate,) = fates("stacks", f"{HEAD};Testspruce;Long shed;27;{day};4000x150x4\n")
    assert fate.step.values["cut_on"] == date(2025, 4, 3)


def test_marks_commas_and_other_alphabets(yard):
    row = 'Testspruce,Long shed,"27,5",2025-04-03,4000x150x4\r\n'
    head = "Species,Place,Thickness (mm),Sawn on,Tally\r\n"
    for content in ((head + row).encode("utf-8-sig"), (head + row).encode("utf-16")):
        (fate,) = fates("stacks", content)
        assert fate.step.values["thickness_mm"] == 27.5


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "no table"),
        (b"PK\x03\x04 but no workbook", "can't be read"),
        (b"\n\n;;\n", "no rows"),
        (b"tag;spec\n;x\n", "names a column"),
        (b"tag;species\n;x\n", "lacks: place"),
        (HEAD.encode() + b";a;b;27;2025-04-03;4000x150x4\n" * (files.MOST_ROWS + 1), "More than"),
    ],
)
def test_what_is_no_sheet_is_refused_in_words(content, words):
    with pytest.raises(ValidationError) as caught:
        files.read(content, STACKS)
    assert words in " ".join(caught.value.messages)


@pytest.mark.parametrize("text", ["=1+1", "+4", "-4", "@a", "'", "'=a", "''a", "'a", "a=1", ""])
def test_text_that_a_spreadsheet_might_run_stays_text(text):
    assert guarded(text)[:1] not in set("=+-@")
    assert unguarded(guarded(text)) == text
    assert text_of(guarded(text)) == text


def test_no_cell_of_a_workbook_is_a_formula(yard):
    book = openpyxl.load_workbook(io.BytesIO(sheets.export("stacks", "xlsx")))
    assert {cell.data_type for row in book.active.iter_rows() for cell in row}.isdisjoint({"f"})


def test_examples_are_read_by_the_columns_that_made_them():
    SpeciesFactory(name="Norway spruce")
    PlaceFactory(name="Long shed")
    (fate,) = fates("stacks", sheets.example("stacks", "xlsx"), datetime(2027, 1, 1, tzinfo=UTC))
    assert fate.kind == "new"
    for key in ("boards", "readings"):
        (fate,) = fates(key, sheets.example(key, "csv"), datetime(2027, 1, 1, tzinfo=UTC))
        assert [column for column, _why in fate.faults] == ["stack"]  # whose tag nobody can know beforehand


def test_readings_are_never_altered(yard):
    code = yard["one"].code
    head = "stack,taken_at,method,values\n"
    late, early = f"{code},2225-06-01,pins,12\n", f"{code},2025-04-02 10:00,pins,12\n"
    pairs, high = f"{code},2025-06-01,pins,210/180\n", f"{code},2025-06-01,capacitance,170\n"
    weighed = f"{code},2025-06-01,sample_board,900\n"
    found = fates("readings", head + late + early + pairs + high + weighed)
    assert [fate.faults[0][0] for fate in found] == ["taken_at", "taken_at", "values", "values", "sample_boards"]


def test_a_file_waits_for_its_sender_and_is_taken_once(signed_in, client, yard):
    content = (HEAD + ";Testspruce;Long shed;27;2025-04-03;4000x150x4\n").encode()
    answer = signed_in.post("/exchange/stacks/", {"file": SimpleUploadedFile("mine.csv", content)})
    (sheet,) = SentSheet.objects.all()
    assert answer.url == f"/exchange/sent/{sheet.pk}/"
    page = signed_in.get(answer.url)
    assert b"1 new, 0 changed, 0 the same, 0 refused" in page.content
    assert Stack.objects.count() == 2
    other = UserFactory()
    client.force_login(other)
    assert client.get(answer.url).status_code == 404
    client.force_login(sheet.by)
    assert client.post(answer.url, {"mark": "of another page"}).status_code == 422
    assert Stack.objects.count() == 2
    assert client.post(answer.url, {"mark": page.context["mark"]}).status_code == 302
    assert Stack.objects.count() == 3
    assert client.post(answer.url, {"mark": page.context["mark"]}).status_code == 404
    assert Stack.objects.count() == 3


def test_a_failure_writes_nothing_and_keeps_the_file(yard):
    """Two looked through beforehand take the same tag: the second finds it hung."""
    step = fates("stacks", f"{HEAD}{new_code()};Testspruce;Long shed;27;2025-04-03;4000x150x4\n")[0].step
    person = UserFactory()
    sheet = SentSheet.objects.create(by=person, kind="stacks", name="a", content=b"", sent_at=timezone.now())
    with pytest.raises(ValidationError):
        take(sheet=sheet, steps=[step, step], by=person, at=timezone.now())
    assert (Stack.objects.count(), SentSheet.objects.count()) == (2, 1)


def test_values_that_no_wood_can_have_are_refused_beforehand(yard):
    SampleBoard.objects.create(
        stack=yard["one"], label="A", green_mass_g=2000, oven_dry_mass_g=1200, made_on=date(2025, 4, 3)
    )
    rows = "stack,taken_at,method,values,sample_boards,meter_set_to\n"
    code = yard["one"].code
    light, unknown = f"{code},2025-06-01,sample_board,900,A,\n", f"{code},2025-06-01,pins,20,,no such wood\n"
    good = f"{code},2025-06-01,sample_board,1500,A,\n"
    found = fates("readings", rows + light + unknown + good)
    assert [[column for column, _why in fate.faults] for fate in found] == [["values"], ["meter_set_to"], []]


def test_a_file_that_is_none_is_refused_at_its_field(signed_in):
    for content in (b"", b"\x00\x01", b"a;b\n1;2\n"):
        answer = signed_in.post("/exchange/stacks/", {"file": SimpleUploadedFile("x.csv", content)})
        assert answer.status_code == 422
        assert answer.context["form"].errors["file"]
    assert not SentSheet.objects.exists()


@pytest.mark.parametrize("key", list(SHEETS))
def test_trying_a_sheet_takes_as_many_queries_for_many_rows_as_for_few(yard, key):
    a_need("Stairs", yard["one"].species)
    few = queries_of_trying(key)
    for _number in range(5):
        stack = StackFactory()
        BoardFactory(stack=stack)
        ReadingFactory(stack=stack)
        a_need(f"Need {stack.pk}", stack.species)
    assert queries_of_trying(key) == few


def test_pages_and_files(signed_in, yard):
    for path in ("/exchange/", *(f"/exchange/{key}/" for key in SHEETS)):
        assert signed_in.get(path).status_code == 200
    for path in ("yard/readings.csv", "yard/readings.xlsx", "example/readings.csv"):
        assert "attachment" in signed_in.get(f"/exchange/readings/{path}")["Content-Disposition"]
    assert signed_in.get("/exchange/readings/yard/readings.pdf").status_code == 404
    assert signed_in.get("/exchange/horses/").status_code == 404
