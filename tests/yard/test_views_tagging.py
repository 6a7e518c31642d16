"""A new stack, from the blank tag's form to the kept stack."""

from datetime import date, timedelta
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image

from tests.factories import KilnPlaceFactory, PlaceFactory, SpeciesFactory, StackFactory, TagFactory
from yard import outlook
from yard.forms.stack import StackForm
from yard.measures import system
from yard.models import Stack, Tag

pytestmark = pytest.mark.django_db


def picture():
    out = BytesIO()
    Image.new("RGB", (60, 40), "peru").save(out, "JPEG")
    return SimpleUploadedFile("stack.jpg", out.getvalue(), "image/jpeg")


@pytest.fixture
def tag():
    return TagFactory()


@pytest.fixture
def filled():
    """The form, filled in as at the saw."""
    return {
        "species": SpeciesFactory().pk,
        "place": PlaceFactory().pk,
        "thickness_mm": "27",
        "cut_on": timezone.localdate().isoformat(),
        "wood_part": "mixed",
        "target_pct": "8",
        "kiln_entry_pct": "20",
        "sticker_mm": "25",
        "rows": "2",
        "line-0-length": "4",
        "line-0-width": "150",
        "line-0-count": "30",
        "keep": "1",
    }


def test_a_blank_tag_and_a_filled_form_make_a_stack(signed_in, user, tag, filled):
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled)
    stack = Stack.objects.get()
    assert response["Location"] == f"/stacks/{tag.code}/"
    assert (stack.code, stack.board_count, stack.made_by) == (tag.code, 30, user)
    assert stack.thickness_mm == 27


def test_the_new_stack_is_forecast(signed_in, tag, filled, monkeypatch, django_capture_on_commit_callbacks):
    asked = []
    monkeypatch.setattr(outlook, "refresh", lambda stacks: asked.extend(stacks))
    with django_capture_on_commit_callbacks(execute=True):
        signed_in.post(f"/stacks/new/?tag={tag.code}", filled)
    assert asked == [Stack.objects.get()]


def test_without_a_tag_at_hand_a_fresh_one_is_made(signed_in, filled):
    signed_in.post("/stacks/new/", filled)
    assert Tag.objects.get().stack == Stack.objects.get()


def test_a_photo_comes_along(signed_in, tag, filled):
    signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"photo": picture()})
    assert Stack.objects.get().photos.count() == 1


def test_a_comma_and_other_units_are_understood(signed_in, tag, filled):
    signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"thickness_mm": '1"', "line-0-length": "8'"})
    stack = Stack.objects.get()
    assert stack.thickness_mm == 25.4
    assert stack.lines.get().length_mm == 2438


def test_a_yards_first_stack_is_kept_with_what_shows_alone(signed_in, tag):
    form = signed_in.get(f"/stacks/new/?tag={tag.code}").context["form"]
    assert {name: form.initial[name] for name in ("target_pct", "kiln_entry_pct", "sticker_mm")} == {
        "target_pct": 8,
        "kiln_entry_pct": 20,
        "sticker_mm": 25,
    }


def test_the_last_stacks_values_are_offered_but_not_its_note(signed_in, tag):
    last = StackFactory(thickness_mm=52, target_pct=10, note="wany", wood_part="heartwood", value_per_m3=600)
    initial = signed_in.get(f"/stacks/new/?tag={tag.code}").context["form"].initial
    assert initial["species"] == last.species_id
    assert initial["place"] == last.place_id
    assert (initial["thickness_mm"], initial["target_pct"], initial["wood_part"]) == (52, 10, "heartwood")
    assert "note" not in initial


def test_the_day_of_sawing_is_offered_again_only_on_the_same_day(signed_in, tag):
    last = StackFactory(cut_on=date(2025, 4, 3))
    page = signed_in.get(f"/stacks/new/?tag={tag.code}")
    assert page.context["form"].initial["cut_on"] == date(2025, 4, 3)
    Stack.objects.filter(pk=last.pk).update(made_at=timezone.now() - timedelta(days=3))
    page = signed_in.get(f"/stacks/new/?tag={tag.code}")
    assert page.context["form"].initial["cut_on"] == timezone.localdate()


@pytest.mark.parametrize("kind", ["closed_store", "kiln"])
def test_where_green_wood_was_stacked_last_is_offered_when_the_last_stack_is_elsewhere(signed_in, kind):
    PlaceFactory(name="Aspen shed")
    shed = PlaceFactory(name="Long shed")
    dry = PlaceFactory(name="A dry store", kind=kind)
    StackFactory(place=shed)
    StackFactory(place=dry, kiln_dried_on=timezone.localdate())
    form = signed_in.get("/stacks/new/").context["form"]
    assert form.initial["place"] == shed.pk
    offered = [str(name) for _key, name in form["place"].field.choices]
    assert offered == ["Aspen shed", "Long shed"] + (["A dry store"] if kind == "closed_store" else [])


def test_what_a_stack_is_worth_is_asked_in_the_reader_s_volume(signed_in):
    for units, unit in (("metric", "m³"), ("imperial", "bd\u00a0ft")):
        with system.told_in(units):
            assert str(StackForm(today=timezone.localdate())["value_per_m3"].label) == f"Worth when dry, per {unit}"


def test_a_kiln_is_no_place_to_stack(signed_in, tag, filled):
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"place": KilnPlaceFactory().pk})
    assert response.status_code == 422
    assert "place" in response.context["form"].errors


TOMORROW = (timezone.localdate() + timedelta(days=2)).isoformat()


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("species", "", "required"),
        ("thickness_mm", "14", "not between 15 and 100\u202fmm"),
        ("thickness_mm", "thick", "is no size"),
        ("cut_on", TOMORROW, "still to come"),
        ("cut_on", "1925-04-03", "too long ago"),
        ("kiln_entry_pct", "6", "Below the target"),
        ("initial_moisture_pct", "400", "from 5 to 250\u202f%"),
        ("pack_length_mm", "4000", ""),
        ("sticker_mm", "2", "from 6 to 60\u202fmm"),
    ],
)
def test_a_wrong_value_is_told_at_its_field_and_nothing_typed_is_lost(signed_in, tag, filled, name, typed, said):
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {name: typed, "note": "keep me"})
    assert response.status_code == 422
    assert not Stack.objects.exists()
    errors = response.context["form"].errors
    where = "pack_width_mm" if name == "pack_length_mm" else name
    assert said in errors[where][0]
    assert "keep me" in response.content.decode()


def test_an_error_that_is_folded_away_is_unfolded(signed_in, tag, filled):
    page = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"sticker_mm": "2"})
    assert page.context["form"].more_is_wrong


def test_a_tally_that_is_wrong_keeps_nothing(signed_in, tag, filled):
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"line-0-length": "400"})
    assert response.status_code == 422
    assert "could be mm or cm" in response.content.decode()
    assert not Stack.objects.exists()


def test_an_empty_tally_keeps_nothing(signed_in, tag, filled):
    empty = {name: "" for name in filled if name.startswith("line-")}
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | empty)
    assert response.status_code == 422
    assert "No boards yet" in response.content.decode()


def test_a_file_that_is_no_photo_keeps_nothing(signed_in, tag, filled):
    wrong = SimpleUploadedFile("stack.jpg", b"none", "image/jpeg")
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"photo": wrong})
    assert response.status_code == 422
    assert not Stack.objects.exists()


def test_a_tag_in_use_leads_to_what_it_hangs_on(signed_in, filled):
    stack = StackFactory()
    assert signed_in.get(f"/stacks/new/?tag={stack.code}")["Location"] == f"/t/{stack.code}"


def test_a_tag_taken_while_the_form_was_filled_in_loses_nothing_that_was_typed(signed_in, filled):
    stack = StackFactory()
    response = signed_in.post(f"/stacks/new/?tag={stack.code}", filled)
    assert response.status_code == 422
    page = response.content.decode()
    assert "Someone else hung that tag on another stack meanwhile." in page
    assert 'action="/stacks/new/"' in page, "kept once more, it gets a fresh tag"
    assert response.context["form"]["thickness_mm"].value() == filled["thickness_mm"]
    assert Stack.objects.count() == 1
    assert signed_in.post("/stacks/new/", filled).status_code == 302
    assert Stack.objects.count() == 2


def test_more_lines_keep_what_was_typed_and_judge_nothing(signed_in, tag, filled):
    del filled["keep"]
    response = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"more": "1", "thickness_mm": "thick"})
    assert response.status_code == 200
    assert response.context["tally"].row_count == 6
    page = response.content.decode()
    assert 'value="thick"' in page
    assert "is no size" not in page
    assert not Stack.objects.exists()


def test_the_last_stacks_boards_are_put_into_lines(signed_in, tag, filled):
    StackFactory(lines=[(3000, 120, 7)])
    del filled["keep"]
    tally = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | {"last": "1"}).context["tally"]
    assert [tally.rows[1][name].value() for name in ("length", "width", "count")] == ["3", "120", 7]


def test_a_yard_without_a_place_is_told_to_make_one_first(signed_in, tag):
    page = signed_in.get(f"/stacks/new/?tag={tag.code}").content.decode()
    assert 'href="/places/new/"' in page
    assert 'id="stack-form"' not in page


def test_the_preview_shows_volume_and_mass_and_keeps_nothing(signed_in, filled):
    response = signed_in.post("/stacks/preview/", filled, headers={"HX-Request": "true"})
    figures = response.context["figures"]
    # 30 boards of 4 m x 150 mm x 27 mm, by hand; a board foot is 144 cubic inches
    assert figures.volume_m3 == pytest.approx(0.486)
    assert figures.board_feet == pytest.approx(0.486 / (144 * 0.0254**3))
    # basic density 400 kg/m3; mixed wood midway between 40 and 120 %
    assert figures.mass_kg == pytest.approx(0.486 * 400 * 1.8)
    assert figures.water_kg == pytest.approx(0.486 * 400 * (0.8 - 0.08))
    assert "0.486" in response.content.decode() or "0.49" in response.content.decode()
    assert not Stack.objects.exists()


def test_the_preview_warns_of_a_heavy_board(signed_in, filled):
    light = signed_in.post("/stacks/preview/", filled).content.decode()
    assert "two people" not in light
    heavy = filled | {"thickness_mm": "80", "line-0-width": "500"}
    assert "two people" in signed_in.post("/stacks/preview/", heavy).content.decode()


def test_the_preview_of_an_empty_form_says_what_is_needed(signed_in):
    response = signed_in.post("/stacks/preview/", {"rows": "4"})
    assert response.status_code == 200
    assert "species, thickness and one line" in response.content.decode()


def test_the_preview_counts_what_is_complete_and_says_what_is_not(signed_in, filled):
    response = signed_in.post("/stacks/preview/", filled | {"line-1-length": "3"})
    assert response.context["figures"].boards == 30
    assert "1 line is not complete" in response.content.decode()


def test_boards_wider_than_a_usual_stack_are_still_counted(signed_in, filled):
    response = signed_in.post("/stacks/preview/", filled | {"line-0-width": "1400"})
    assert response.context["figures"].layers == 30


def test_the_form_asks_as_many_queries_in_a_large_yard_as_in_a_small_one(signed_in, tag):
    StackFactory()
    with CaptureQueriesContext(connection) as few:
        signed_in.get(f"/stacks/new/?tag={tag.code}")
    for _n in range(5):
        StackFactory()
    with CaptureQueriesContext(connection) as many:
        signed_in.get(f"/stacks/new/?tag={tag.code}")
    assert len(many) == len(few)


def test_what_keeps_the_stack_from_being_kept_is_listed_at_the_top_with_links(signed_in, tag, filled):
    wrong = {"thickness_mm": "thick", "place": "", "line-0-width": ""}
    page = signed_in.post(f"/stacks/new/?tag={tag.code}", filled | wrong).content.decode()
    listed = page.split('class="form-errors"')[1].split("</div>")[0]
    for where in ("id_thickness_mm", "id_place", "id_line-0-width"):
        assert f'href="#{where}"' in listed
        assert f'id="{where}"' in page
    assert "id_species" not in listed


def test_an_untouched_form_lists_nothing(signed_in, tag):
    PlaceFactory()
    assert "form-errors" not in signed_in.get(f"/stacks/new/?tag={tag.code}").content.decode()
