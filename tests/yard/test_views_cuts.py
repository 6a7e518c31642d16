"""How to cut a need's line out of the yard's boards."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import SpeciesFactory, StackFactory, want
from tests.yard.queries import queries_of
from yard.models import NeedLine

pytestmark = pytest.mark.django_db


@pytest.fixture
def ash():
    return SpeciesFactory(name="ash")


def line(ash, quantity, unit="pieces", width=90, length=900, **kwargs):
    wanted_by = timezone.localdate() + timedelta(days=60)
    need = want(species=ash, thickness_mm=20, volume_m3=quantity, unit=unit, wanted_by=wanted_by, **kwargs)
    NeedLine.objects.update(width_mm=width, length_mm=length)
    return need.lines.get()


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ").replace("\u00a0", " ")


def test_boards_are_told_with_their_strips_and_pieces(signed_in, ash):
    # 2 m less 100 mm trimmed holds two of 900 mm with a kerf; 210 mm dries to 197.7 (8 %, WH eq. 4-7): two of 93 + kerf
    stack = StackFactory(species=ash, lines=[(2000, 210, 5)])
    text = text_of(signed_in.get(f"/needs/lines/{line(ash, 8).pk}/cuts/"))
    assert f"/stacks/{stack.code}/" in text
    assert "2 boards, 2.00 m × 210 mm" in text
    assert "2 strips of 93 mm, each 2 × 900 mm" in text
    assert "with 12 cuts" in text
    assert "more piece" not in text


def test_what_is_missing_is_told_with_its_green_size_and_logs(signed_in, ash):
    StackFactory(species=ash, lines=[(2000, 210, 1)])
    row = line(ash, 30)
    text = text_of(signed_in.get(f"/needs/lines/{row.pk}/cuts/"))
    assert "Saw 26 more pieces" in text
    # (20 + 3) / (1 - 0.08 x 22 / 30) = 24.4 mm; (90 + 3) the same way 98.8 mm (Wood Handbook eq. 4-7); 100 mm of trim
    assert "26 pieces, 25 × 99 mm × 1.00 m, 0.06 m³" in text
    assert "1 log of 350 mm" in text
    thin = text_of(signed_in.get(f"/needs/lines/{row.pk}/cuts/?diameter=120&length=2&share=50"))
    assert "6 logs of 120 mm" in thin  # pi/4 0.12² 2 = 0.0226 m³, half of it; 26 x 1 x 0.099 x 0.025 = 0.0644 m³
    refused = signed_in.get(f"/needs/lines/{row.pk}/cuts/?diameter=2&length=2&share=50")
    assert refused.status_code == 422
    assert "26 more pieces" in text_of(refused)


def test_metres_and_square_metres_are_cut_too(signed_in, ash):
    StackFactory(species=ash, lines=[(2000, 210, 5)])
    metres = text_of(signed_in.get(f"/needs/lines/{line(ash, 7, 'm', length=None).pk}/cuts/"))
    assert "2 strips of 93 mm" in metres
    assert "as it is" in text_of(signed_in.get(f"/needs/lines/{line(ash, 0.5, 'm2', None, None).pk}/cuts/"))


def test_a_line_in_cubic_metres_says_that_it_has_no_cut_plan(signed_in, ash):
    assert "whole stacks serve it" in text_of(signed_in.get(f"/needs/lines/{line(ash, 1, 'm3').pk}/cuts/"))
    assert signed_in.get("/needs/lines/77/cuts/").status_code == 404


def test_three_and_thirty_stacks_take_the_same_queries(signed_in, ash):
    row = line(ash, 8)
    StackFactory.create_batch(3, species=ash)
    few = queries_of(signed_in, f"/needs/lines/{row.pk}/cuts/")
    StackFactory.create_batch(27, species=ash)
    assert queries_of(signed_in, f"/needs/lines/{row.pk}/cuts/") == few
