"""Labels are laid out, printed and read back: what they hold, where it lies, and at which size."""

import re
import subprocess

import numpy as np
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.yard.spoiled import MODULES, SITE, need_poppler, printed, some_codes, symbol_squares
from yard.labels import SHEETS, Label, LabelError, label_printer, labels_pdf, read_photo
from yard.labels.arrangement import LARGEST_SYMBOL_MM, LEAST_MODULE_MM, arrange
from yard.labels.sheet import Box
from yard.labels.symbol import address, modules
from yard.labels.words import printable
from yard.models.tagcode import groups

WORDS = ("White oak, 27 mm", "Cut 14 March 2026", "Target 8 %")
ROLLS = {
    "stack 100 x 150": label_printer(100, 150, 2),
    "stack 148 x 105": label_printer(148, 105, 2),
    "stack 102 x 51": label_printer(102, 51, 2),
    "board 62 x 29": label_printer(62, 29, 1),
    "board 40 x 30": label_printer(40, 30, 1),
    "board 25 x 50": label_printer(25, 50, 1),
}
PAPERS = {**SHEETS, **ROLLS}
PAPER_IDS = list(PAPERS)


@pytest.fixture(scope="module")
def poppler():
    need_poppler()


def blank(count):
    return [Label(code) for code in some_codes(count)]


def text_of(pdf, tmp_path):
    (tmp_path / "labels.pdf").write_bytes(pdf)
    run = subprocess.run(["pdftotext", "-layout", tmp_path / "labels.pdf", "-"], capture_output=True, check=True)
    return run.stdout.decode()


# What the symbol holds


def test_the_address_is_in_capitals_of_qrs_alphanumeric_mode():
    assert address("2345678923", "https://Yard.example/") == "HTTPS://YARD.EXAMPLE/T/2345678923"
    assert address("2345678923", "http://192.168.1.20:8000") == "HTTP://192.168.1.20:8000/T/2345678923"


@pytest.mark.parametrize("site", ["", "yard.example", "https://yard.example/wood", "https://my_yard", "https://[::1]"])
def test_an_address_that_no_tag_can_bear_is_refused_with_an_example(site):
    with pytest.raises(LabelError, match=r"https://yard\.example"):
        labels_pdf(blank(1), SHEETS["a4-stack"], site)


def test_the_symbol_is_level_h_and_of_the_version_that_the_standards_capacity_gives():
    # ISO/IEC 18004 table 7, alphanumeric characters at level H: version 3 holds 35, version 4 holds 50 (from memory;
    # the symbol's own format information, read back by zxing-cpp, is the check on the level).
    for site, version in ((f"https://{'a' * 14}", 3), (f"https://{'a' * 15}", 4), (f"https://{'a' * 29}", 4)):
        text = address("2345678923", site)
        rows = modules(text)
        assert len(rows) == 17 + 4 * version
        picture = np.kron(np.pad(~np.array(rows), 4, constant_values=True), np.ones((4, 4))).astype(np.uint8) * 255
        (found,) = zxingcpp.read_barcodes(picture)
        assert (found.text, found.ec_level) == (text, "H")


# How a label is laid out


@given(
    width=st.floats(15, 300),
    height=st.floats(15, 300),
    symbols=st.sampled_from([1, 2]),
    version=st.sampled_from([3, 4]),
)
def test_symbols_stay_on_the_label_and_clear_of_each_other_and_the_words(width, height, symbols, version):
    side_modules = 17 + 4 * version
    try:
        found = arrange(Box(0, 0, width, height), symbols, side_modules)
    except LabelError:
        assert min(width, height) < 60 or (symbols == 2 and max(width, height) < 130)
        return
    assert len(found.symbols) == symbols
    assert found.module_mm >= LEAST_MODULE_MM[symbols]
    assert found.module_mm * side_modules <= LARGEST_SYMBOL_MM[symbols] + 1e-9
    boxes = [*found.symbols, found.words]
    for box in boxes:
        assert box.x > 0 and box.y > 0 and box.x + box.width < width and box.y + box.height < height
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            apart = max(other.x - one.x - one.width, one.x - other.x - other.width)
            assert max(apart, other.y - one.y - one.height, one.y - other.y - other.height) >= -1e-9


def test_a_large_stack_tag_has_two_symbols_of_70_mm_and_a_board_tag_one_of_25_to_35():
    for key in ("a4", "letter"):
        for name, least, most in (("stack-large", 70, 70), ("stack", 32, 40), ("board", 25, 35)):
            sheet = SHEETS[f"{key}-{name}"]
            found = arrange(next(sheet.cells()), sheet.symbols, MODULES)
            assert least - 1e-6 <= found.module_mm * MODULES <= most + 1e-6


@pytest.mark.parametrize(("size", "symbols"), [((62, 29), 2), ((20, 200), 2), ((15, 15), 1)])
def test_a_label_too_small_for_a_phone_is_refused_with_its_size(size, symbols):
    with pytest.raises(LabelError, match=f"{size[0]} by {size[1]} mm.*larger label"):
        labels_pdf(blank(1), label_printer(*size, symbols), SITE)


@pytest.mark.parametrize("key", SHEETS)
def test_a_sheets_labels_fill_the_paper_within_margins_that_printers_reach(key):
    sheet = SHEETS[key]
    cells = list(sheet.cells())
    assert len(cells) == len(set(cells)) == sheet.labels
    assert sum(cell.width * cell.height for cell in cells) == pytest.approx(
        (sheet.width_mm - 20) * (sheet.height_mm - 20)
    )
    assert cells[0].y > cells[-1].y or sheet.rows == 1


# The file


def test_symbols_are_vectors_and_the_same_labels_give_the_same_bytes():
    pdf = labels_pdf(blank(8), SHEETS["a4-stack"], SITE)
    assert pdf == labels_pdf(blank(8), SHEETS["a4-stack"], SITE)
    assert b"/Subtype /Image" not in pdf
    assert len(pdf) < 100_000


@pytest.mark.parametrize(("count", "pages"), [(1, 1), (8, 1), (9, 2), (17, 3)])
def test_as_many_pages_as_the_labels_need(count, pages):
    pdf = labels_pdf(blank(count), SHEETS["letter-stack"], SITE)
    assert len(re.findall(rb"/Type /Page\b", pdf)) == pages
    assert re.search(rb"/MediaBox \[ 0 0 612 792 \]", pdf)


@pytest.mark.parametrize("key", PAPER_IDS)
def test_code_and_words_are_printed_for_people(key, poppler, tmp_path):
    code = some_codes(1)[0]
    text = text_of(labels_pdf([Label(code, WORDS)], PAPERS[key], SITE), tmp_path)
    for part in groups(code):
        assert part in text
    assert "Target 8 %" in text
    assert "Species" not in text


@pytest.mark.parametrize("key", [key for key in PAPER_IDS if key.startswith(("a4", "letter"))])
def test_a_blank_tag_has_lines_to_write_on(key, poppler, tmp_path):
    assert "Species" in text_of(labels_pdf(blank(1), PAPERS[key], SITE), tmp_path)


def test_letters_that_the_font_lacks_lose_their_accents_or_become_question_marks():
    assert printable("Lärche, Érable à sucre, 27 mm · ½") == "Lärche, Érable à sucre, 27 mm · ½"
    assert printable("Őszi akác, Ţ") == "Oszi akác, T"
    assert printable("木") == "?"


# On paper


@pytest.mark.parametrize("key", PAPER_IDS)
def test_every_label_of_a_printed_page_is_read_with_all_its_symbols(key, poppler):
    sheet = PAPERS[key]
    labels = [Label(code, WORDS if index % 2 else ()) for index, code in enumerate(some_codes(sheet.labels))]
    (page,) = printed(labels, sheet, 150)
    read = sorted(found.text for found in zxingcpp.read_barcodes(page))
    assert read == sorted(address(label.code, SITE) for label in labels for _ in range(sheet.symbols))
    assert set(read_photo(Image.fromarray(page))) == {label.code for label in labels}


@pytest.mark.parametrize("key", PAPER_IDS)
def test_symbols_are_printed_to_size_with_a_white_quiet_zone(key, poppler):
    sheet = PAPERS[key]
    long_words = ("A name that is a good deal longer than the label is wide, 27 mm", *WORDS)
    (page,) = printed([Label(code, long_words) for code in some_codes(sheet.labels)], sheet, 300)
    for cell in sheet.cells():
        for square in symbol_squares(cell, sheet, page):
            cut, inner = square.cut(page)
            dark = np.argwhere(cut < 128)
            # The finder patterns reach the symbol's corners, so its dark modules span it exactly; 2 px for rounding.
            assert dark.min(axis=0) == pytest.approx([inner.y, inner.x], abs=2)
            assert dark.max(axis=0) - dark.min(axis=0) + 1 == pytest.approx([inner.side, inner.side], abs=2)
