"""The mill's own figures: an owner's page, and who goes by them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.planning.basis import basis
from kilnruns.planning.due import due_days
from tests.factories import OutlookFactory, SpeciesFactory, StackFactory, UserFactory, want
from yard.models import MillFigures, Need, NeedLine

pytestmark = pytest.mark.django_db

GIVEN = {"sawn": "flat", "planing_mm": "2,5", "trim_mm": "200", "kerf_mm": "3", "log_yield": "48", "cut_yield": "50",
         "log_diameter_mm": "280", "log_length_m": "3.2"}  # fmt: skip


@pytest.fixture
def owner_in(client):
    client.force_login(UserFactory(is_staff=True), backend="django.contrib.auth.backends.ModelBackend")
    return client


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def line(wood, quantity=30):
    need = want(species=wood, thickness_mm=20, volume_m3=quantity, unit="pieces",
                wanted_by=timezone.localdate() + timedelta(days=60))  # fmt: skip
    NeedLine.objects.update(width_mm=90, length_mm=900)
    return need.lines.get()


def test_they_are_kept_and_may_be_the_usual_ones_again(owner_in):
    page = text_of(owner_in.get("/setup/figures/"))
    assert 'value="55"' in page and "common practice, no source" in page and "Back to the usual" not in page
    owner_in.post("/setup/figures/", GIVEN)
    kept = MillFigures.current()
    assert (kept.planing_mm, kept.trim_mm, kept.kerf_mm, kept.log_yield, kept.cut_yield) == (2.5, 200, 3, 0.48, 0.5)
    assert (kept.sawn, kept.log_diameter_mm, kept.log_length_m) == ("flat", 280, 3.2)
    assert "Back to the usual" in text_of(owner_in.get("/setup/figures/"))
    owner_in.post("/setup/figures/usual/")
    assert MillFigures.current().are_usual


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("planing_mm", "-1", "from 0 to 20 mm"),
        ("log_yield", "95", "from 10 to 90 %"),
        ("kerf_mm", "2.5", "whole number"),
        ("log_diameter_mm", "30", "from 50 to 2000 mm"),
        ("cut_yield", "much", "Enter a number"),
        ("sawn", "askew", "not one of the available choices"),
    ],
)
def test_a_wrong_figure_is_told_at_its_field_and_nothing_is_kept(owner_in, name, value, words):
    answer = owner_in.post("/setup/figures/", GIVEN | {name: value})
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert (MillFigures.objects.count(), name in answer.context["form"].errors) == (0, True)


def test_only_owners_change_them(signed_in):
    assert signed_in.get("/setup/figures/").status_code == 403
    assert signed_in.post("/setup/figures/", GIVEN).status_code == 403
    assert signed_in.post("/setup/figures/usual/").status_code == 403


def test_cut_plans_needs_and_sawing_sizes_go_by_them(signed_in):
    wood = SpeciesFactory()  # 4 % radial, 8 % tangential
    row = line(wood)
    StackFactory(species=wood, thickness_mm=25, lines=[(1000, 250, 8)])
    cuts = f"/needs/lines/{row.pk}/cuts/"
    # 25 mm at 8 %: 23.5 mm, planed 20.5; 250 mm dry is 235.3: two strips of 93 mm and a kerf, one piece in each
    assert "Saw 14 more pieces" in text_of(signed_in.get(cuts))
    MillFigures(pk=1, planing_mm=2.0).save()  # 19.5 mm are left
    assert f"/stacks/{row.pk}" not in text_of(signed_in.get(f"/needs/{row.need_id}/"))
    text = text_of(signed_in.get(cuts))
    assert "Saw 30 more pieces" in text
    # (20 + 4) / (1 - .08 x 22 / 30) = 25.5, (90 + 4) the same way 99.9 (Wood Handbook eq. 4-7)
    assert "26 × 100 mm × 1.00 m" in text and "2 mm are planed off" in text
    MillFigures(pk=1, trim_mm=200).save()  # 800 mm are left of each board
    assert "Saw 30 more pieces" in text_of(signed_in.get(cuts))
    MillFigures(pk=1, kerf_mm=20, trim_mm=0, log_diameter_mm=150, log_length_m=1, log_yield=0.3).save()
    text = text_of(signed_in.get(cuts))
    assert "Saw 14 more pieces" in text and "a kerf is 20 mm" in text
    # pi/4 .15² .9 = .0159 m³, .3 of it; 14 x 25 x 99 x 900 mm = .0312 m³
    assert "7 logs of 150 mm at half their length and 0.9 m" in text


def test_how_boards_are_sawn_says_which_stacks_are_thick_enough(signed_in):
    wood = SpeciesFactory()
    row, stack = line(wood), StackFactory(species=wood, thickness_mm=24)  # flat-sawn 23.3 mm at 8 %, quarter-sawn 22.6
    page = f"/needs/{row.need_id}/"
    assert f"/stacks/{stack.code}/" not in text_of(signed_in.get(page))
    MillFigures(pk=1, sawn="flat").save()
    assert f"/stacks/{stack.code}/" in text_of(signed_in.get(page))


def test_plans_serve_needs_by_the_mills_yield_and_a_changed_one_makes_them_stale():
    wood = SpeciesFactory()
    first, second = (StackFactory(species=wood, target_pct=8) for _number in range(2))  # .648 m³ each
    for stack in (first, second):
        OutlookFactory(stack=stack)
    want(species=wood, thickness_mm=22, volume_m3=0.35, wanted_by=timezone.localdate() + timedelta(days=60))
    needs = list(Need.objects.open().with_lines())
    assert len(due_days([first, second], needs, timezone.localdate(), 0.6)) == 1  # .648 x .6 = .39 m³
    assert len(due_days([first, second], needs, timezone.localdate(), 0.5)) == 2
    before = basis(careful=False)["rules"]
    assert "cut_yield" not in before
    MillFigures(pk=1, cut_yield=0.5).save()
    assert basis(careful=False)["rules"] == before | {"cut_yield": 0.5}
