"""What to saw: sizes, pieces and logs, and that wood sawn by the list serves what it was sawn for."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import PlaceFactory, SpeciesFactory, StackFactory, want
from yard import outlook
from yard.actions.needs import keep_sawn
from yard.models import MillFigures, Need, NeedLine, Reservation, Sawn
from yard.outlook import sawdays

pytestmark = pytest.mark.django_db


def today():
    return timezone.localdate()


def day(ahead):
    return today() + timedelta(days=ahead)


@pytest.fixture
def oak():
    """Northern red oak: 4.0 % radial, 8.6 % tangential (Wood Handbook, FPL-GTR-282, table 4-3)."""
    return SpeciesFactory(name="oak", shrinkage_radial_pct=4.0, shrinkage_tangential_pct=8.6)


def line(wood, quantity=30, unit="pieces", width=90, length=900, thickness=27, **kwargs):
    need = want(species=wood, thickness_mm=thickness, volume_m3=quantity, unit=unit, target_pct=8,
                wanted_by=day(700), **kwargs)  # fmt: skip
    NeedLine.objects.filter(need=need).update(width_mm=width, length_mm=length)
    return need.lines.get()


def listed(figures=None):
    figures = figures or MillFigures.current()
    return outlook.saw_lines(outlook.wanted(Need.objects.open().with_lines(), today()), today(), figures)


@pytest.mark.parametrize(
    ("sawn", "thickness", "width"),
    [
        # (27 + 3) and (90 + 3) mm over 1 - S (30 - 8) / 30 (Wood Handbook eq. 4-7), up to the next whole mm
        (Sawn.FLAT, 31, 100),  # 30 / .97067 = 30.9, 93 / .93693 = 99.3
        (Sawn.QUARTER, 33, 96),  # 30 / .93693 = 32.0 (32.02), 93 / .97067 = 95.8
        (Sawn.MIXED, 32, 98),  # of 6.3 %: 30 / .9538 = 31.5, 93 / .9538 = 97.5
        (Sawn.ANY, 33, 100),
    ],
)
def test_green_sizes_are_the_handbooks_for_each_grain(oak, sawn, thickness, width):
    line(oak)
    [one] = listed(MillFigures(sawn=sawn))
    assert (one.saw.thickness_mm, one.saw.width_mm, one.saw.length_mm, one.saw.pieces) == (thickness, width, 1000, 30)
    assert one.saw.volume_m3 == pytest.approx(30 * thickness * width * 1000 / 1e9)


@pytest.mark.parametrize(
    ("quantity", "unit", "width", "length", "pieces", "size", "volume"),
    [
        (40, "m", 90, None, 11, (33, 100, 4000), 11 * 0.033 * 0.1 * 4),  # 3.9 m of each board: 10.3 boards
        (24, "m2", None, None, None, (33, None, None), 24 * 0.027 / 0.6),
        (2, "m3", None, None, None, (33, None, None), 2.0),  # sawn wood already
    ],
)
def test_metres_come_in_boards_as_long_as_a_log_and_random_widths_by_volume(
    oak, quantity, unit, width, length, pieces, size, volume
):
    line(oak, quantity, unit, width, length)
    [one] = listed()
    assert (one.saw.thickness_mm, one.saw.width_mm, one.saw.length_mm) == size
    assert (one.saw.pieces, one.saw.volume_m3) == (pieces, pytest.approx(volume))


def test_logs_hold_whole_pieces_and_are_thick_enough_for_them(oak):
    line(oak, length=1250)
    [one] = listed()
    logs = outlook.logs_for(one.saw, 350, 4, 0.55)
    # two of 1.35 m: 2.7 m; pi/4 .35² 2.7 = .2598 m³ (Huber), .55 of it; 30 x 33 x 100 x 1350 mm = .1337 m³
    assert (logs.count, logs.diameter_mm, logs.length_m) == (1, 350, 2.7)
    assert logs.each_m3 == pytest.approx(0.2598, abs=1e-4)
    assert outlook.logs_for(one.saw, 80, 1, 0.55).diameter_mm == 110  # the diagonal of 33 x 100 mm is 105 mm
    assert outlook.logs_for(one.saw, 80, 1, 0.55).length_m == 1.4  # no shorter than one piece, to the next 10 cm


def test_what_is_free_in_the_yard_is_not_sawn_again_and_two_needs_do_not_count_it_twice(oak):
    StackFactory(species=oak, thickness_mm=40, lines=[(4000, 200, 40)])  # 1.28 m³
    line(oak, 1.0, "m3", None, None)
    assert listed() == []
    line(oak, 1.0, "m3", None, None, name="Stairs")
    assert sum(one.saw.volume_m3 for one in listed()) == pytest.approx(2 - 1.28)


@pytest.mark.parametrize(
    ("quantity", "unit", "width", "length"),
    [(120, "pieces", 140, 2200), (400, "pieces", 60, 700), (300, "m", 45, None), (40, "m2", None, None)],
)
@pytest.mark.parametrize("kept", [False, True])
def test_what_is_missing_is_what_the_cut_plan_misses(user, oak, quantity, unit, width, length, kept):
    stack = StackFactory(species=oak, thickness_mm=52, lines=[(3650, 155, 7), (2290, 210, 9), (2420, 310, 5)])
    row = line(oak, quantity, unit, width, length, thickness=40)
    if kept:
        Reservation.objects.create(line=row, stack=stack, volume_m3=stack.volume_m3, made_at=timezone.now())
    need = Need.objects.with_lines().get()
    [served] = outlook.serve([need], today())[need.pk]
    missing = outlook.cut_line(served).short
    assert 0 < missing < quantity
    [one] = listed()
    assert one.saw.for_quantity == pytest.approx(missing, rel=0.01)


def test_boards_that_hold_no_piece_serve_nothing(oak):
    StackFactory(species=oak, thickness_mm=52, lines=[(3650, 155, 40)])
    line(oak, 10, "pieces", 150, 2200, thickness=40)
    [one] = listed()
    assert one.saw.pieces == 10


def test_a_wood_without_shrinkage_figures_is_left_out():
    line(SpeciesFactory(shrinkage_tangential_pct=None))
    assert listed() == []


@pytest.mark.parametrize("sawn", Sawn.values)
@pytest.mark.parametrize(
    ("quantity", "unit", "width", "length"), [(30, "pieces", 90, 900), (40, "m", 90, None), (12, "m2", None, None)]
)
@pytest.mark.parametrize("planing", [1.5, 1.2])
def test_a_stack_sawn_by_the_list_serves_its_line_whole(user, oak, sawn, quantity, unit, width, length, planing):
    MillFigures(pk=1, planing_mm=planing).save()
    row = line(oak, quantity, unit, width, length)
    [one] = listed(MillFigures(sawn=sawn, planing_mm=planing))
    saw = one.saw
    tally = [(saw.length_mm, saw.width_mm, saw.pieces)] if saw.pieces else [(4000, 250, 60)]
    stack = StackFactory(species=oak, thickness_mm=saw.thickness_mm, lines=tally)
    kept = keep_sawn(line=row, stack=stack, by=user, at=timezone.now())
    assert kept.sawn_for == (0 if unit == "m2" else pytest.approx(quantity))
    assert listed() == []
    need = Need.objects.with_lines().get()
    [served] = outlook.serve([need], today())[need.pk]
    assert [each.stack.pk for each in served.kept] == [stack.pk]
    assert served.lacking_m3 == pytest.approx(0)
    assert outlook.cut_line(served).short == pytest.approx(0)


def test_a_part_that_was_sawn_leaves_the_rest_to_saw(user, oak):
    row = line(oak)
    [one] = listed()
    stack = StackFactory(species=oak, thickness_mm=one.saw.thickness_mm, lines=[(1000, one.saw.width_mm, 12)])
    assert keep_sawn(line=row, stack=stack, by=user, at=timezone.now()).sawn_for == 12
    [left] = listed()
    assert (left.saw.pieces, left.is_part) == (18, True)


def test_no_more_of_a_stack_is_kept_than_is_lacking(user, oak):
    row = line(oak)
    stack = StackFactory(species=oak, thickness_mm=33, lines=[(2000, 100, 30)])  # two pieces of 900 and a kerf in each
    kept = keep_sawn(line=row, stack=stack, by=user, at=timezone.now())
    assert (kept.sawn_for, kept.volume_m3) == (30, pytest.approx(stack.volume_m3 / 2))
    assert keep_sawn(line=row, stack=StackFactory(species=oak), by=user, at=timezone.now()) is None


@pytest.mark.parametrize("wrong", ["wood", "thin"])
def test_what_can_not_become_the_line_is_not_kept_for_it(user, oak, wrong):
    row = line(oak)
    wood, thickness = (SpeciesFactory(), 33) if wrong == "wood" else (oak, 30)  # 30 x .97067 - 3 = 26.1 mm at best
    stack = StackFactory(species=wood, thickness_mm=thickness, lines=[(1000, 100, 30)])
    assert keep_sawn(line=row, stack=stack, by=user, at=timezone.now()) is None
    assert not Reservation.objects.exists()


def wish(oak, by, **kwargs):
    return outlook.SawWish(oak, 33, 8, by, **kwargs)


def days_of(oak, by, sawn=None, **kwargs):
    [found] = outlook.saw_days([wish(oak, by, **kwargs)], PlaceFactory(), sawn or today(), today=today())
    return found


@pytest.fixture
def kiln(monkeypatch):
    """A kiln that takes 10, 14 or 20 days."""
    asked = []
    monkeypatch.setattr(sawdays._Kiln, "days", staticmethod(lambda all_asked: asked.extend(all_asked)
                                                            or [(10, 14, 20) for _ in all_asked]))  # fmt: skip
    return asked


def test_the_last_day_keeps_the_date_nine_times_in_ten_and_the_day_after_does_not(oak, kiln):
    found = days_of(oak, day(700))
    place = PlaceFactory()

    def done(sawn, which):
        [again] = outlook.saw_days([wish(oak, day(700))], place, sawn, today=today())
        return sawn + timedelta(days=again.days[which])

    assert done(found.saw_by, 2) <= day(700) < done(found.saw_by + timedelta(days=1), 2)
    assert done(found.even, 1) <= day(700) < done(found.even + timedelta(days=1), 1)
    assert today() < found.saw_by < found.even < day(700)


def test_outdoors_to_the_kilns_entry_and_then_the_kiln(oak, kiln):
    found = days_of(oak, day(700))
    place = PlaceFactory()
    months = outlook.tools.drying_times(oak, place, thicknesses_mm=[33], target_pct=20, today=today())[33]
    low, high = (pick(one.figures["p50"] for one in months) for pick in (min, max))
    assert low - 1 <= found.outdoors[1] <= high + 1
    assert (found.to_pct, found.kiln) == (20, (10, 14, 20))
    assert found.days == tuple(a + b for a, b in zip(found.outdoors, found.kiln, strict=True))
    assert [(one.thickness_mm, one.from_pct, one.to_pct) for one in kiln] == [(33, 20, 8)]


def test_without_a_kiln_the_place_must_do_it_alone_or_nobody_can_say(oak):
    assert days_of(oak, day(700)).ready is None  # 8 % is drier than a shed makes wood
    outdoors = outlook.SawWish(oak, 33, 18, day(700))
    [found] = outlook.saw_days([outdoors], PlaceFactory(), today(), today=today())
    assert (found.kiln, found.to_pct) == (None, 19)
    assert found.ready is not None
    assert outlook.saw_days([outdoors], None, today(), today=today()) == [None]


def test_the_chance_left_is_that_of_the_bands_own_days_and_nil_where_there_is_no_time(oak, kiln):
    low, middle, high = days_of(oak, day(700)).days
    chances = [days_of(oak, day(ahead)).chance for ahead in (low, middle, high)]
    assert chances == pytest.approx([0.1, 0.5, 0.9], abs=0.001)
    soon = days_of(oak, day(5))
    assert soon.is_late and soon.is_hopeless and soon.saw_by < today()
    assert days_of(oak, day(-5)).chance == 0


def test_what_must_only_go_into_the_kiln_asks_for_no_kiln(oak, kiln):
    [found] = outlook.saw_days([outlook.SawWish(oak, 33, 20, day(700), no_kiln=True)], PlaceFactory(), today(),
                               today=today())  # fmt: skip
    assert (found.kiln, found.to_pct, kiln) == (None, 20, [])
