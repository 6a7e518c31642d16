"""The sawing list, and a new stack out of it."""

from datetime import timedelta
from html import unescape

import pytest

from tests.factories import PlaceFactory, SpeciesFactory, StackFactory, TagFactory, want
from tests.kilnruns.factories import KilnFactory, PlanFactory, days_from_today, today
from tests.yard.queries import queries_of
from yard import outlook
from yard.models import MillFigures, NeedLine, Reservation, Stack

pytestmark = pytest.mark.django_db


@pytest.fixture
def oak():
    """Northern red oak (Wood Handbook, FPL-GTR-282, table 4-3), as quick to dry as a softwood."""
    return SpeciesFactory(name="oak", shrinkage_radial_pct=4.0, shrinkage_tangential_pct=8.6)


@pytest.fixture
def shed():
    return PlaceFactory(name="Shed")


def line(wood, by=900, name="Table", quantity=30):
    need = want(species=wood, thickness_mm=27, volume_m3=quantity, unit="pieces", target_pct=8, name=name,
                wanted_by=days_from_today(by))  # fmt: skip
    NeedLine.objects.filter(need=need).update(width_mm=90, length_mm=900)
    return need.lines.get()


def gap(wood, kiln, by=300):
    return {"kiln": kiln.pk, "group": "softwood@8", "thinnest_mm": 24, "thickest_mm": 30, "volume_m3": 1.5,
            "by": days_from_today(by).isoformat(), "species": wood.name, "thickness_mm": 27.0}  # fmt: skip


def text_of(answer):
    return " ".join(unescape(answer.content.decode()).replace("\u202f", " ").split())


def test_the_list_says_size_pieces_logs_and_the_last_day(signed_in, oak, shed):
    KilnFactory(place__temperatures_c=[], place__humidities_pct=[])
    row = line(oak)
    text = text_of(signed_in.get("/sawing/"))
    # (27 + 3) and (90 + 3) over 1 - .086 x 22 / 30 (Wood Handbook eq. 4-7): 32.0 and 99.3, up to whole mm
    assert "33 × 100 mm × 1.00 m" in text
    assert "30 pieces</b> oak · 0.10 m³" in text
    assert "1 log of 350 mm at half its length and 4.0 m" in text
    assert "Saw it by" in text and "nine times in ten" in text
    assert "with the kiln" in text
    assert f"/stacks/new/?line={row.pk}" in text
    assert "to stand in Shed" in text


def test_the_most_pressing_comes_first_and_what_is_too_late_says_its_chance(signed_in, oak, shed):
    KilnFactory()
    line(oak, 1500, "Stairs")
    line(oak, 30, "Shelf")
    text = text_of(signed_in.get("/sawing/"))
    assert text.index("Shelf") < text.index("Stairs")
    assert "Too late to be sure" in text and "it can't be dry by" in text


def test_day_place_grain_and_log_can_be_asked_and_bad_ones_are_told(signed_in, oak, shed):
    row, other = line(oak), PlaceFactory(name="Yard")
    given = {"day": days_from_today(9).isoformat(), "place": other.pk, "sawn": "flat", "diameter": "200",
             "length": "2,1", "share": "40"}  # fmt: skip
    text = text_of(signed_in.get("/sawing/", given))
    assert "31 × 100 mm" in text and "to stand in Yard" in text
    assert "4 logs of 200 mm at half their length and 2.0 m" in text  # pi/4 .2² 2 = .0628 m³, .4 of it; of .093 m³
    assert f"/stacks/new/?line={row.pk}&sawn=flat" in text
    refused = signed_in.get("/sawing/", given | {"length": "long"})
    assert refused.status_code == 422
    assert "33 × 100 mm" in text_of(refused) and "long" in text_of(refused)
    past = signed_in.get("/sawing/", given | {"day": (today() - timedelta(days=1)).isoformat()})
    assert past.status_code == 422


def test_what_the_next_charge_lacks_stands_below_and_what_is_too_late_apart(signed_in, oak, shed):
    kiln = KilnFactory()
    PlanFactory(notes={"missing": [gap(oak, kiln), gap(SpeciesFactory(name="elm"), kiln, by=4), gap(oak, kiln, -3)]})
    text = text_of(signed_in.get("/sawing/"))
    assert "27 mm, any width" in text and "1.50 m³</b> oak" in text
    assert f"To fill {kiln}" in text
    assert "too late to saw for: 1" in text and "Elm" in text


def test_nothing_to_saw_is_said(signed_in):
    assert "Nothing is to be sawn" in text_of(signed_in.get("/sawing/"))


def test_without_a_climate_nobody_says_a_day(signed_in, oak):
    line(oak)
    text = text_of(signed_in.get("/sawing/"))
    assert "No place has a climate yet" in text and "30 pieces" in text


def test_three_and_thirty_lines_take_the_same_queries(signed_in, oak, shed):
    kiln = KilnFactory()
    PlanFactory(notes={"missing": [gap(oak, kiln)]})
    blank = TagFactory()

    def more(count):
        for number in range(count):
            line(SpeciesFactory(), 300 + 20 * number)
            StackFactory(place=shed, thickness_mm=20)

    more(3)
    pages = ("/sawing/", f"/stacks/new/?tag={blank.code}")
    few = [queries_of(signed_in, page) for page in pages]
    more(27)
    assert [queries_of(signed_in, page) for page in pages] == few


def form_of(answer):
    """What the page's form holds, as a browser would send it."""
    form, tally = answer.context["form"], answer.context["tally"]
    fields = {field.name: field.value() for field in form if field.value() not in (None, "")}
    rows = {field.html_name: field.value() for row in tally.rows for field in row if field.value() not in (None, "")}
    return fields | rows | {"rows": tally.row_count, "keep": "1", "for_line": answer.context["for_line"] or ""}


def test_a_blank_tag_offers_the_list_and_a_line_fills_the_form(signed_in, oak, shed):
    tag, row = TagFactory(), line(oak)
    scanned = signed_in.get(f"/t/{tag.code}/", follow=True)
    assert "From the sawing list: 1 line" in text_of(scanned)
    answer = signed_in.get(f"/stacks/new/?tag={tag.code}&line={row.pk}&sawn=flat")
    sent = form_of(answer)
    assert (sent["species"], sent["thickness_mm"], sent["place"], sent["target_pct"]) == (oak.pk, "31", shed.pk, "8")
    assert (sent["line-0-length"], sent["line-0-width"], sent["line-0-count"]) == ("1", "100", 30)
    made = signed_in.post(f"/stacks/new/?tag={tag.code}", sent, follow=True)
    assert "It is reserved for Table." in text_of(made)
    stack = Stack.objects.get()
    kept = Reservation.objects.get()
    assert (stack.code, stack.cut_on, kept.line, kept.sawn_for) == (tag.code, today(), row, 30)
    assert "Nothing is to be sawn" in text_of(signed_in.get("/sawing/"))
    assert "Saw it by" not in text_of(signed_in.get(f"/needs/{row.need_id}/"))


def test_a_stack_is_made_even_when_its_need_is_gone_or_it_is_of_another_wood(signed_in, oak, shed):
    tags, row = [TagFactory(), TagFactory()], line(oak)
    sent = form_of(signed_in.get(f"/stacks/new/?tag={tags[0].code}&line={row.pk}"))
    other = signed_in.post(f"/stacks/new/?tag={tags[0].code}", sent | {"species": SpeciesFactory().pk}, follow=True)
    assert "It is not reserved for Table" in text_of(other)
    row.delete()
    gone = signed_in.post(f"/stacks/new/?tag={tags[1].code}", sent, follow=True)
    assert "no longer wanted: the stack is free" in text_of(gone)
    assert (Stack.objects.count(), Reservation.objects.count()) == (2, 0)


@pytest.mark.parametrize("asked", ["77", "x", "", "9" * 40])
def test_a_line_that_there_is_not_leaves_the_form_as_it_was(signed_in, oak, shed, asked):
    line(oak)
    answer = signed_in.get(f"/stacks/new/?line={asked}")
    assert answer.status_code == 200
    assert answer.context["for_line"] is None


def test_the_need_says_by_when_to_saw_and_leads_to_the_list(signed_in, oak, shed):
    KilnFactory()
    row = line(oak)
    text = text_of(signed_in.get(f"/needs/{row.need_id}/"))
    [found] = outlook.days_of_lines(
        outlook.saw_lines(outlook.wanted([row.need], today()), today(), MillFigures()), shed, today(), today=today()
    )
    assert f"Saw it by {found.saw_by:%-d %B}" in text
    assert "/sawing/" in text
    assert "/sawing/" in text_of(signed_in.get("/needs/"))
