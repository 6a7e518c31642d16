"""Files made to harm: mutated pictures, bombs, polyglots, workbooks as no program writes them, sheets of anything.

Each is taken or refused in words; nothing else comes out, and what is kept is a bare JPEG.
"""

import struct
import zlib
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.yard.crafted import row, workbook
from yard.actions import photos
from yard.exchange import files
from yard.exchange.cells import RawField, TallyField
from yard.exchange.columns import STACKS
from yard.forms.weather import decoded
from yard.outlook import read_weather

few = settings(max_examples=60)
HEAD = [column.name for column in STACKS]
SCRIPT = b"<script>alert(1)</script>"


def made(form, **save):
    out = BytesIO()
    Image.effect_noise((23, 17), 60).convert("RGB").save(out, form, **save)
    return out.getvalue()


FLIPS = st.tuples(st.floats(0, 1), st.integers(0, 255))
PICTURES = [made(form) for form in photos.FORMATS]


def taken(content):
    """The kept bytes, or None where it is refused in words."""
    try:
        return photos.bare_photo(BytesIO(content)).read()
    except ValidationError as error:
        assert error.messages[0].endswith(".")
        return None


@few
@given(
    st.sampled_from(PICTURES), st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), max_size=8), st.floats(0, 1)
)
@example(PICTURES[0], [], 0)
@example(PICTURES[photos.FORMATS.index("TIFF")], [(0.03125, 1)], 0)  # Pillow warns of what is noted, and reads on
def test_a_mutated_picture_is_refused_or_becomes_a_bare_jpeg(picture, flips, end):
    spoiled = bytearray(picture[: len(picture) - int(end * len(picture))])
    for where, value in flips:
        if spoiled:
            spoiled[int(where * (len(spoiled) - 1))] = value
    kept = taken(bytes(spoiled))
    assert kept is None or Image.open(BytesIO(kept)).format == "JPEG"


def png_of_nothing(width, height):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(6400, 6400), (60_000, 60_000), (2**31 - 1, 2**31 - 1), (40_000_001, 1)])
def test_a_picture_that_would_unpack_to_too_much_is_refused_before_it_is(width, height):
    with pytest.raises(ValidationError, match=r"million pixels|can't be read"):
        photos.bare_photo(BytesIO(png_of_nothing(width, height)))


@pytest.mark.parametrize(
    "kind", [b"<svg onload='alert(1)'/>", b"%PDF-1.7", b"PK\x03\x04", b"GIF89a=1;" + SCRIPT, b"MZ"]
)
def test_what_calls_itself_a_picture_and_is_none_is_refused(kind):
    assert taken(kind + SCRIPT) is None


def test_what_rides_along_with_a_picture_is_left_behind():
    """A file that is a picture and a page at once: after the picture, in its comment, in its EXIF."""
    exif = Image.Exif()
    exif[0x010F] = SCRIPT.decode()
    for content in (made("JPEG") + SCRIPT, made("JPEG", comment=SCRIPT), made("JPEG", exif=exif), made("GIF") + SCRIPT):
        kept = taken(content)
        assert kept is not None and b"script" not in kept
        assert not Image.open(BytesIO(kept)).getexif()


ENTITIES = b'<!DOCTYPE l [<!ENTITY a "aaaaaaaaaa">' + b"".join(
    b'<!ENTITY %c "%s">' % (98 + at, b"&%c;" % (97 + at) * 10) for at in range(9)
)


@pytest.mark.parametrize(
    ("rows", "before", "words"),
    [
        (row(2, b"9" * 400), b"", "can't be read"),
        (row(2, b"9" * 5000), b"", "can't be read"),
        (row(1_048_576, b"1"), b"", "More than 5000 rows"),
        (b'<row r="2"><c r="A2" t="inlineStr"><is><t>&j;</t></is></c></row>', ENTITIES + b"]>", "can't be read"),
        (b'<row r="2"><c r="BI2"><v>1</v></c></row>', b"", "more than 60 columns"),
        (b'<row r="2"><c r="A2"><v>1</v>', b"", "can't be read"),
    ],
    ids=["400 digits", "5000 digits", "the last row", "entities", "column 61", "broken"],
)
def test_a_crafted_workbook_is_refused_in_words(rows, before, words):
    with pytest.raises(ValidationError) as caught:
        files.read(workbook(HEAD, rows, before), STACKS)
    assert words in caught.value.messages[0]


def test_a_cell_far_out_costs_no_row_as_wide(monkeypatch):
    """A workbook of 16,384 columns is 130 KB a row in memory where each is filled up."""
    rows = b"".join(b'<row r="%d"><c r="XFD%d"><v>1</v></c></row>' % (at, at) for at in range(2, 50))
    widest = []
    trimmed = files._trimmed
    monkeypatch.setattr(files, "_trimmed", lambda row: widest.append(len(row)) or trimmed(row))
    files.read(workbook(HEAD, rows), STACKS)
    assert max(widest) == files.MOST_COLUMNS + 1


def test_a_bomb_is_refused_by_what_it_says_it_unpacks_to():
    with pytest.raises(ValidationError, match="too large"):
        files.read(workbook(HEAD, b"<c/>" * (files.LARGEST_UNPACKED // 4)), STACKS)


@few
@given(st.binary(max_size=400))
@example(b"PK\x03\x04" + b"\x00" * 60)
@example(b"\xff\xfe\x00")
@example(b'"' + b"a" * 200_000)
def test_whatever_is_sent_as_a_sheet_is_rows_or_refused(content):
    try:
        files.read(content, STACKS)
    except ValidationError as error:
        assert error.messages[0]


@few
@given(st.text(max_size=80))
@example("9" * 5000 + "x100x2")
@example("1e400/" + "9" * 400)
@example("٣x٣x٣")
def test_whatever_stands_in_a_cell_of_figures_is_read_or_refused(text):
    for field in (TallyField(), RawField()):
        try:
            field.clean(text)
        except ValidationError as error:
            assert error.messages[0]


@few
@given(st.binary(max_size=300))
@example(b"date,temperature,humidity\n2025-05-03," + b"9" * 5000 + b",50\n")
@example(b"date,temperature,humidity\n" + b"9" * 5000 + b",1,50\n")
@example(b"date;temperature;humidity\n99999999999-1-1;1e999;nan\n")
def test_whatever_is_sent_as_weather_is_days_or_faults(content):
    sheet = read_weather(decoded(content))
    assert sheet.days == () or sheet.rows
