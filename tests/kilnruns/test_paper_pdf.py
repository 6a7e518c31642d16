"""Papers printed: one page, read back with poppler, the symbol read off the rendered page."""

import subprocess

import pytest
import zxingcpp
from django.utils import timezone
from PIL import Image

from kilnruns.actions.papers import link_of, open_link, withdraw
from kilnruns.forms.paper import MOST_ITEMS
from kilnruns.papers.pdf import PaperFullError, check_fits, paper_pdf
from kilnruns.templatetags.paper_words import told
from kilnruns.views.papers import LONGEST_SYMBOL, symbol_of
from tests.factories import ReadingFactory, SpeciesFactory, StackFactory
from tests.kilnruns.closed import finished
from tests.kilnruns.printed import pages, smallest_pt
from tests.kilnruns.test_papers import dry_stack, issued
from tests.yard.spoiled import need_poppler
from yard.labels import LabelError
from yard.models import Mill

pytestmark = pytest.mark.django_db
SITE = "https://yard.example"
DOTS_PER_INCH = 150


@pytest.fixture(autouse=True)
def _poppler():
    need_poppler()


def text_of(pdf, tmp_path):
    """All words of the page, as poppler reads them, in one line."""
    (tmp_path / "paper.pdf").write_bytes(pdf)
    run = subprocess.run(["pdftotext", tmp_path / "paper.pdf", "-"], capture_output=True, check=True)
    return " ".join(run.stdout.decode().split())


def symbols_of(pdf, tmp_path):
    """What the symbols of the page hold, off the page as it is rendered."""
    (tmp_path / "paper.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-gray", "-r", str(DOTS_PER_INCH), tmp_path / "paper.pdf", tmp_path / "page"], check=True
    )
    return [
        found.text for page in sorted(tmp_path.glob("page*.pgm")) for found in zxingcpp.read_barcodes(Image.open(page))
    ]


def info_of(pdf, tmp_path, tool="pdfinfo"):
    (tmp_path / "paper.pdf").write_bytes(pdf)
    return subprocess.run([tool, tmp_path / "paper.pdf"], capture_output=True, check=True).stdout.decode()


def link(paper):
    return open_link(paper=paper, by=None, at=timezone.now())


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_all_that_the_page_says_stands_on_the_print(size, tmp_path):
    Mill.objects.create(pk=1, name="Hollow mill")
    stacks = [item.stack for item in finished(stacks=3).stacks.all()]
    paper = told(issued(*stacks, note="Third load of five"))
    pdf = paper_pdf(paper, size)
    text = text_of(pdf, tmp_path)
    wanted = [paper.title, paper.mill, paper.issued, *paper.to, paper.total, paper.note, paper.mark, *paper.limits]
    wanted += [section.heading for section in paper.sections]
    wanted += [words for section in paper.sections for line in section.lines for words in (line.label, line.value)]
    assert [words for words in wanted if " ".join(words.replace("\u202f", " ").split()) not in text] == []
    assert pages(pdf) == 1
    width, height = {"a4": ("595", "842"), "letter": ("612", "792")}[size]
    assert f"{width}" in info_of(pdf, tmp_path) and f"{height}" in info_of(pdf, tmp_path).replace("841.89", "842")


def test_its_fonts_are_embedded_and_it_has_title_and_language(tmp_path):
    pdf = paper_pdf(told(issued(dry_stack())), "a4")
    fonts = info_of(pdf, tmp_path, "pdffonts").splitlines()[2:]
    used = [line for line in fonts if "Vera" in line]
    assert len(used) == 2
    assert all(" yes yes " in line for line in used)  # embedded, subset
    assert "Dry certificate 1" in info_of(pdf, tmp_path)
    assert b"/Lang (en)" in pdf
    assert b"/DisplayDocTitle true" in pdf


def test_the_symbol_on_the_page_opens_this_paper(tmp_path):
    paper = issued(dry_stack())
    token = link(paper).token
    pdf = paper_pdf(told(paper), "a4", symbol_of(token, SITE))
    (text,) = symbols_of(pdf, tmp_path)
    assert text == f"HTTPS://YARD.EXAMPLE/P/{token}"
    assert link_of(text.rsplit("/", 1)[1]).paper == paper
    assert f"yard.example/p/ {' '.join(token[at : at + 5] for at in range(0, 30, 5))}" in text_of(pdf, tmp_path)


def test_without_a_link_no_symbol_is_on_it(tmp_path):
    assert symbols_of(paper_pdf(told(issued(dry_stack())), "a4"), tmp_path) == []


def test_letters_of_other_scripts_and_signs_do_not_break_it(tmp_path):
    wood = SpeciesFactory(name="Älder ß & <b>ash</b>", latin_name="Fraxinus ž")
    stack = ReadingFactory(stack=StackFactory(species=wood), raw=[9.0, 9.2]).stack
    text = text_of(paper_pdf(told(issued(stack, to="Ångström & <Søn>\nŁódź, 木材, Дуб")), "a4"), tmp_path)
    assert "Älder ß & <b>ash</b> (Fraxinus ž)" in text
    assert "Ångström & <Søn> Łódz, ??, ???" in text  # what the font lacks loses its accent or shows as missing


def test_the_same_paper_gives_the_same_bytes():
    paper = told(issued(dry_stack()))
    assert paper_pdf(paper, "a4") == paper_pdf(paper, "a4")


def test_a_withdrawn_one_says_so_on_its_print(tmp_path):
    paper = issued(dry_stack())
    withdraw(paper=paper, why="wrong buyer", by=None, at=timezone.now())
    paper.refresh_from_db()
    assert "wrong buyer. It no longer holds." in text_of(paper_pdf(told(paper), "a4"), tmp_path)


def test_as_many_packs_as_a_paper_takes_fit_a_page_in_seven_points():
    stacks = [item.stack for item in finished(stacks=MOST_ITEMS).stacks.all()]
    paper = told(issued(*stacks))
    check_fits(paper, LONGEST_SYMBOL)
    for size in ("a4", "letter"):
        pdf = paper_pdf(paper, size, LONGEST_SYMBOL)
        assert pages(pdf) == 1
        assert smallest_pt(pdf) >= 7


def test_type_is_as_large_as_fits():
    one = paper_pdf(told(issued(dry_stack())), "a4")
    assert smallest_pt(one) == pytest.approx(8.8, abs=0.01)  # limits and signatures, .88 of ten points


def test_what_fits_no_page_is_refused_with_what_to_do():
    lines = [(2000 + number, 100 + number, 3) for number in range(220)]
    stacks = [ReadingFactory(stack=StackFactory(lines=lines), raw=[9.0]).stack for _number in range(2)]
    with pytest.raises(PaperFullError, match="Make two papers"):
        check_fits(told(issued(*stacks)), LONGEST_SYMBOL)


def test_a_host_that_no_symbol_can_hold_is_refused():
    with pytest.raises(LabelError):
        symbol_of("A" * 30, "https://[::1]")
