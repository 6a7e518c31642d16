"""Tags on paper."""

import pytest

from tests.factories import BoardFactory, StackFactory, TagFactory
from yard.models import Mill, Tag

pytestmark = pytest.mark.django_db


def test_a_sheet_of_new_blank_tags_is_a_pdf(signed_in, user):
    response = signed_in.post("/tags/sheet.pdf", {"paper": "a4-stack", "count": "8"})
    assert response.status_code == 200
    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF-")
    assert Tag.objects.blank().filter(made_by=user).count() == 8


def test_a_label_printer_gets_its_size(signed_in):
    response = signed_in.post(
        "/tags/sheet.pdf", {"paper": "label-stack", "count": "2", "width": "150", "height": "100,0"}
    )
    assert response.content.startswith(b"%PDF-")
    assert Tag.objects.count() == 2


def test_blank_tags_are_printed_again_without_making_new_ones(signed_in):
    TagFactory.create_batch(3)
    response = signed_in.post("/tags/sheet.pdf", {"paper": "letter-board", "count": "21", "again": "on"})
    assert response.content.startswith(b"%PDF-")
    assert Tag.objects.count() == 3


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"count": "0"}, "count", "from 1 to 500"),
        ({"count": "501"}, "count", "from 1 to 500"),
        ({"paper": "papyrus"}, "paper", "valid choice"),
        ({"paper": "label-stack"}, "width", "needs the label"),
        ({"again": "on"}, "paper", "no blank tags yet"),
        ({"paper": "label-stack", "width": "30", "height": "20"}, "paper", "mm"),
    ],
)
def test_a_sheet_that_can_not_be_made_says_why_and_makes_no_tag(signed_in, typed, field, said):
    response = signed_in.post("/tags/sheet.pdf", {"paper": "a4-stack", "count": "8"} | typed)
    assert response.status_code == 422
    assert said in response.context["form"].errors[field][0]
    assert not Tag.objects.exists()


def test_the_page_lists_blank_tags_only(signed_in):
    blank, stack = TagFactory(), StackFactory()
    page = signed_in.get("/tags/")
    assert list(page.context["page"]) == [blank]
    assert stack.code not in page.content.decode()


def test_the_mills_paper_is_offered(signed_in):
    Mill.objects.create(pk=1, name="Otterbeck", paper="letter")
    assert signed_in.get("/tags/").context["form"].initial == {"paper": "letter-stack"}


def test_tags_that_only_this_machine_could_open_are_warned_of(signed_in, settings):
    settings.ALLOWED_HOSTS = ["*"]
    warned = "open on this machine only"
    assert warned in signed_in.get("/tags/", headers={"host": "localhost:8000"}).content.decode()
    assert warned not in signed_in.get("/tags/", headers={"host": "yard.example"}).content.decode()
    settings.PUBLIC_URL = "https://yard.example"
    assert warned not in signed_in.get("/tags/", headers={"host": "localhost:8000"}).content.decode()


def test_a_stacks_label_is_a_pdf_in_the_mills_or_a_chosen_size(signed_in):
    stack = StackFactory()
    assert signed_in.get(f"/stacks/{stack.code}/label.pdf").content.startswith(b"%PDF-")
    chosen = signed_in.get(f"/stacks/{stack.code}/label.pdf?paper=label-stack&width=150&height=100")
    assert chosen.content.startswith(b"%PDF-")


def test_a_label_that_is_too_small_is_refused_with_the_form(signed_in):
    stack = StackFactory()
    response = signed_in.get(f"/stacks/{stack.code}/label.pdf?paper=label-stack&width=20&height=20")
    assert response.status_code == 422
    assert "paper" in response.context["form"].errors


def test_a_boards_label_is_a_pdf(signed_in):
    assert signed_in.get(f"/boards/{BoardFactory().code}/label.pdf").content.startswith(b"%PDF-")
