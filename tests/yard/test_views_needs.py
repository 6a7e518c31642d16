"""Needs and what could serve them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import OutlookFactory, SpeciesFactory, StackFactory, want
from tests.yard.queries import queries_of
from yard.models import Need, NeedLine, Reservation

pytestmark = pytest.mark.django_db


def day(ahead):
    return timezone.localdate() + timedelta(days=ahead)


@pytest.fixture
def ash():
    return SpeciesFactory(name="ash")


def need(species, **kwargs):
    fields = {"thickness_mm": 22, "volume_m3": 1, "target_pct": 8, "wanted_by": day(90), **kwargs}
    return want(species=species, **fields)


def data(wood, **kwargs):
    wanted = {"name": "Floor", "use": "floor", "target_pct": "", "wanted_by": day(90).isoformat(), "importance": "2"}
    return wanted | line_data(wood) | kwargs


def line_data(wood, **kwargs):
    line = {"species": wood.pk, "or_species": "", "thickness_mm": "22", "width_mm": "", "length_mm": ""}
    return line | {"quantity": "1,2", "unit": "m3"} | kwargs


def change_data(**kwargs):
    return {"name": "Floor", "use": "floor", "target_pct": "8", "wanted_by": day(90).isoformat()} | kwargs


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_a_need_is_written_down(signed_in, ash):
    answer = signed_in.post("/needs/new/", data(ash))
    row = Need.objects.get()
    assert answer.url == f"/needs/{row.pk}/"
    assert (row.use, row.target_pct, row.importance) == ("floor", 8, 2)
    line = row.lines.get()
    assert (line.quantity, line.unit, line.thickness_mm, list(line.species.all())) == (1.2, "m3", 22, [ash])


def test_phones_of_old_send_a_volume_alone(signed_in, ash):
    sent = {"name": "Doors", "species": ash.pk, "thickness_mm": "22", "volume_m3": "0,8", "target_pct": "10"}
    signed_in.post("/needs/new/", sent | {"wanted_by": day(90).isoformat(), "note": ""})
    row = Need.objects.get()
    assert (row.use, row.target_pct, row.importance) == ("other", 10, 2)
    assert (row.lines.get().quantity, row.lines.get().unit) == (0.8, "m3")


@pytest.mark.parametrize(("use", "target"), [("furniture", 8), ("joinery", 12), ("outdoor", 16), ("framing", 16)])
def test_the_use_says_how_dry_it_shall_be(signed_in, ash, use, target):
    signed_in.post("/needs/new/", data(ash, use=use))
    assert Need.objects.get().target_pct == target


@pytest.mark.parametrize(
    ("unit", "quantity", "sizes", "volume"),
    [
        ("pieces", "10", ("100", "2"), 0.044),  # 10 x 2 x 0.1 x 0.022 m
        ("m", "40", ("100", ""), 0.088),
        ("m2", "20", ("", ""), 0.44),
        ("m3", "0.3", ("", ""), 0.3),
    ],
)
def test_a_quantity_is_a_volume_of_finished_wood(signed_in, ash, unit, quantity, sizes, volume):
    width, length = sizes
    signed_in.post("/needs/new/", data(ash, unit=unit, quantity=quantity, width_mm=width, length_mm=length))
    assert Need.objects.get().volume_m3 == pytest.approx(volume)


def test_lines_are_added_changed_and_dropped_one_by_one(signed_in, ash):
    row, oak = need(ash), SpeciesFactory(name="oak")
    signed_in.post(f"/needs/{row.pk}/lines/", line_data(oak, or_species=ash.pk, quantity="3"))
    first, second = row.lines.all()
    assert set(second.species.all()) == {ash, oak}
    assert "oak" in text_of(signed_in.get(f"/needs/lines/{second.pk}/"))
    signed_in.post(f"/needs/lines/{second.pk}/", line_data(oak, quantity="4"))
    second.refresh_from_db()
    assert (second.quantity, list(second.species.all())) == (4, [oak])
    signed_in.post(f"/needs/lines/{second.pk}/", {"drop": "1"})
    assert list(row.lines.all()) == [first]


def test_a_refused_line_keeps_what_was_typed(signed_in, ash):
    row = need(ash)
    answer = signed_in.post(f"/needs/{row.pk}/lines/", line_data(ash, unit="pieces", quantity="12", width_mm="95"))
    assert answer.status_code == 422
    assert "Pieces need their length" in text_of(answer)
    assert 'value="95"' in text_of(answer)
    assert NeedLine.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "This field is required"),
        ({"species": ""}, "This field is required"),
        ({"quantity": "0"}, "from 0.001 to 100000"),
        ({"quantity": "much"}, "Enter a number"),
        ({"thickness_mm": "2400"}, "is not between"),
        ({"target_pct": "50"}, "from 4 to 30 %"),
        ({"use": "", "target_pct": ""}, "say what it is for"),
        ({"unit": "m"}, "Metres need a width"),
        ({"unit": "pieces", "quantity": "1.5", "width_mm": "90", "length_mm": "2"}, "whole number of pieces"),
        ({"wanted_by": "soon"}, "valid date"),
    ],
)
def test_what_nobody_can_want_is_refused_at_its_field(signed_in, ash, change, words):
    answer = signed_in.post("/needs/new/", data(ash, **change))
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert not Need.objects.exists()


def test_stacks_of_the_species_that_are_thick_enough_when_dry_could_serve_nearest_first(signed_in, ash):
    # 27 mm, shrinking 8 % tangentially to oven-dry, measures 25.4 mm at 8 % (Wood Handbook eq. 4-7), 22.4 planed
    later, ready = StackFactory(species=ash), StackFactory(species=ash)
    OutlookFactory(stack=later, ready_p50=day(40))
    OutlookFactory(stack=ready, ready_p50=day(-4))
    thin, other = StackFactory(species=ash, thickness_mm=25), StackFactory()
    promised = StackFactory(species=ash, set_aside_for="another floor")
    text = text_of(signed_in.get(f"/needs/{need(ash).pk}/"))
    assert text.index(f"/stacks/{ready.code}/") < text.index(f"/stacks/{later.code}/")
    for stack in (thin, other, promised):
        assert f"/stacks/{stack.code}/" not in text
    assert "1.30 m³ in the yard could serve" in text


@pytest.mark.parametrize(("thickness_mm", "serves"), [(22.4, True), (22.5, False)])
def test_the_bound_is_the_dry_thickness_of_boards_that_shrink_most(signed_in, ash, thickness_mm, serves):
    stack = StackFactory(species=ash)  # 27 (1 - 0.08 (30 - 8) / 30) - 2 x 1.5 = 22.42 mm
    text = text_of(signed_in.get(f"/needs/{need(ash, thickness_mm=thickness_mm).pk}/"))
    assert (f"/stacks/{stack.code}/" in text) is serves


def test_the_list_says_whether_there_is_enough(signed_in, ash):
    StackFactory(species=ash)  # 0.65 m³
    need(ash, volume_m3=0.5)
    assert "enough in the yard" in text_of(signed_in.get("/needs/"))
    need(ash, volume_m3=2)
    assert "not enough in the yard" in text_of(signed_in.get("/needs/"))


def test_a_need_is_changed(signed_in, ash):
    row = need(ash)
    signed_in.post(f"/needs/{row.pk}/", change_data(target_pct="10", importance="3"))
    row.refresh_from_db()
    assert (row.target_pct, row.importance) == (10, 3)
    answer = signed_in.post(f"/needs/{row.pk}/", change_data(target_pct="-3"))
    assert answer.status_code == 422


def test_a_met_need_leaves_the_list_and_can_be_wanted_again(signed_in, ash):
    row = need(ash, name="Window frames")
    assert signed_in.post(f"/needs/{row.pk}/met/").url == "/needs/"
    assert not Need.objects.open().exists()
    text = text_of(signed_in.get("/needs/"))
    assert "Nothing is wanted" in text
    assert "Met lately" in text
    signed_in.post(f"/needs/{row.pk}/met/", {"again": "1"})
    assert Need.objects.open().get() == row


def test_met_is_posted_not_fetched(signed_in, ash):
    assert signed_in.get(f"/needs/{need(ash).pk}/met/").status_code == 405


def test_no_such_need_is_not_found(signed_in):
    assert signed_in.get("/needs/77/").status_code == 404
    assert signed_in.post("/needs/77/met/").status_code == 404


def test_three_and_thirty_needs_and_stacks_take_the_same_queries(signed_in, ash):
    def more(count):
        for _number in range(count):
            OutlookFactory(stack=StackFactory(species=ash))
            need(ash)

    more(3)
    row = need(ash, volume_m3=50)  # more than there is: what to saw is told in both cases
    few = queries_of(signed_in, "/needs/")
    one = queries_of(signed_in, f"/needs/{row.pk}/")
    more(27)
    assert queries_of(signed_in, "/needs/") == few
    assert queries_of(signed_in, f"/needs/{row.pk}/") == one


def reserve(client, row, stack):
    return client.post(f"/needs/lines/{row.lines.get().pk}/reserve/", {"stack": stack.code})


def test_what_is_reserved_is_not_free_for_others_and_can_be_let_go(signed_in, ash):
    stack, row, other = StackFactory(species=ash), need(ash), need(ash, name="Stairs")
    reserve(signed_in, row, stack)
    assert Reservation.objects.get().volume_m3 == pytest.approx(stack.volume_m3)
    reserve(signed_in, other, stack)
    assert Reservation.objects.count() == 1
    assert "0.65 m³ reserved for others" in text_of(signed_in.get(f"/needs/{other.pk}/"))
    assert "Floor" in text_of(signed_in.get(f"/stacks/{stack.code}/"))
    signed_in.post(f"/needs/lines/{row.lines.get().pk}/release/", {"stack": stack.code})
    assert not Reservation.objects.exists()


def test_a_promise_is_kept_with_its_chance_and_a_reading_that_moves_it_is_told(signed_in, ash):
    stack, row = StackFactory(species=ash), need(ash, target_pct=16, volume_m3=0.5)
    outlook = OutlookFactory(stack=stack)
    first = timezone.localdate().toordinal()
    curve = {"day": [first, first + 40, first + 60], "p10": [40, 15, 12], "p50": [40, 17, 14], "p90": [40, 20, 17]}
    outlook.curve = curve  # 17 %, as near 16 as counts as dry, at day 40 in the middle and day 60 for sure
    outlook.save()
    reserve(signed_in, row, stack)
    text = text_of(signed_in.get(f"/needs/{row.pk}/"))
    assert "Nine times in ten by" in text
    signed_in.post(f"/needs/{row.pk}/promise/", {"which": "sure"})
    row.refresh_from_db()
    assert abs((row.promised_on - day(60)).days) <= 1
    assert row.promised_chance == pytest.approx(0.9, abs=0.02)
    assert "has moved" not in text_of(signed_in.get(f"/needs/{row.pk}/"))
    assert "has moved" not in text_of(signed_in.get("/"))
    outlook.curve = curve | {"day": [first, first + 60, first + 80]}
    outlook.save()
    assert "has moved" in text_of(signed_in.get(f"/needs/{row.pk}/"))
    assert "the promised day has moved" in text_of(signed_in.get("/needs/"))
    assert "is promised for Floor, and has moved" in text_of(signed_in.get("/"))


def test_nothing_is_promised_of_what_nobody_knows(signed_in, ash):
    row = need(ash)
    answer = signed_in.post(f"/needs/{row.pk}/promise/", follow=True)
    assert "Nobody can say a day" in text_of(answer)


def test_no_more_is_reserved_than_is_lacking(signed_in, ash):
    stack, other, row = StackFactory(species=ash), StackFactory(species=ash), need(ash, volume_m3=0.4)
    reserve(signed_in, row, stack)
    assert Reservation.objects.get().volume_m3 == pytest.approx(0.4)
    reserve(signed_in, row, other)
    assert Reservation.objects.count() == 1


def test_wood_that_two_needs_want_is_counted_once_and_goes_to_the_one_that_matters(signed_in, ash):
    StackFactory(species=ash)  # 0.65 m³
    need(ash, name="Stairs", volume_m3=0.5)
    assert "others want it too" not in text_of(signed_in.get("/needs/"))
    need(ash, name="Table", volume_m3=0.5, importance=3)
    text = text_of(signed_in.get("/needs/"))
    assert "others want it too: 0.35 m³ short" in text
    assert text.count("enough in the yard") == 1
    assert text.index("Stairs") < text.index("others want it too") < text.index("Table")


def test_of_very_many_stacks_the_nearest_are_shown_and_the_others_asked_for(signed_in, ash, monkeypatch):
    monkeypatch.setattr("yard.views.needs.NEAREST", 2)
    row = need(ash)
    stacks = [StackFactory(species=ash, thickness_mm=27, lines=[(4000, 200, 10)]) for _ in range(5)]
    kept = max(stacks, key=lambda one: one.code)
    Reservation.objects.create(line=row.lines.get(), stack=kept, volume_m3=0.1, made_at=timezone.now())
    few, whole = (text_of(signed_in.get(f"/needs/{row.pk}/{query}")) for query in ("", "?all=1"))
    shown = [one for one in stacks if f"/stacks/{one.code}/" in few]
    assert len(shown) == 3
    assert kept in shown, "what is kept for it is always there"
    assert "Show all (5)" in few
    assert all(f"/stacks/{one.code}/" in whole for one in stacks)
    assert "Show all" not in whole
