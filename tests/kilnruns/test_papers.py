"""Papers that go out with wood: what they state, that it stays so, their numbers, and how they are withdrawn."""

from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from kilnruns.actions.papers import end_link, issue, link_of, open_link, withdraw
from kilnruns.models import Paper, PaperLink, PaperSeries, Quantity, SensorMean, SensorReading, SensorSeries, StressTest
from kilnruns.papers.facts import Wish, gathered, mark, not_dry, subjects_of
from kilnruns.templatetags.paper_words import told
from tests.factories import BoardFactory, ReadingFactory, SpeciesFactory, StackFactory, UserFactory
from tests.kilnruns.closed import BEGUN, DAYS, finished
from tests.kilnruns.factories import SensorDeviceFactory
from yard.actions.stacks import split
from yard.models import Mill

pytestmark = pytest.mark.django_db

ALL = ("moisture", "run", "quality")


def wish(**given):
    return Wish(**{"kind": "dry_certificate", "to": "A joiner\nBarn lane 3", "stated": ALL, **given})


def facts_of(*stacks, **given):
    codes = [stack.code for stack in stacks]
    return gathered(subjects_of(codes), wish(**given), by=None, on=timezone.localdate())


def issued(*stacks, by=None, **given):
    subjects = subjects_of([stack.code for stack in stacks])
    facts = gathered(subjects, wish(**given), by=by, on=timezone.localdate())
    return issue(facts=facts, subjects=subjects, charge=None, by=by, at=timezone.now())


def dry_stack(**more):
    return finished(**more).stacks.get().stack


def said(paper, label):
    """The values of all lines of that name."""
    return [line.value for section in told(paper).sections for line in section.lines if line.label == label]


def plain(text):
    return text.replace("\u202f", " ")


# What it states


def test_the_figures_are_those_of_the_boards_measured_and_of_the_run():
    stack = dry_stack(values=(7.6, 8.0, 8.2, 7.9))
    paper = issued(stack)
    # mean 7.925; sample standard deviation by hand: deviations -.325 .075 .275 -.025, squares sum to .1875, / 3 -> .25
    assert plain(said(paper, "Moisture")[0]) == "7.9 % on the mean; 7.6 to 8.2 %, standard deviation 0.2 points"
    assert paper.facts["items"][0]["moisture"]["sd_pct"] == 0.25
    assert said(paper, "Measured") == ["capacitance meter; 4 boards, one value each; 11 July 2025; depth not noted"]
    assert plain(said(paper, "Sizes as sawn")[0]) == "27 mm thick; 40 pieces: 40 × 4.00 m × 150 mm"
    # 40 x 4 m x .15 m x .027 m; shrinks by 12 % x (30 - 7.925)/30 of it (Wood Handbook eq. 4-7): .648 x .9117
    assert said(paper, "Volume") == ["0.648\u202fm³ as sawn; about 0.591\u202fm³ dry, by the wood's shrinkage"]
    assert plain(said(paper, "How long")[0]) == "10.0 days, 1 July 2025 to 11 July 2025, to a target of 8 %"
    assert said(paper, "Highest temperature") == [
        "50.0\u202f°C in the kiln's air, from 11 notes by hand; between them it may have been hotter"
    ]
    quality = plain(said(paper, "Quality, EN 14298")[0])
    assert quality.startswith(
        "kept on the boards measured, for a target of 8 % (4 of 40 boards measured, 11 July 2025)."
    )
    assert "The mean is within 7.0 to 9.0 %; 100 % of the boards are within 5.6 to 10.4 % (93.5 % must)." in quality
    assert quality.endswith("So few boards prove it neither way for the whole stack.")


def test_a_standard_that_was_missed_is_said_to_be_missed():
    quality = said(issued(dry_stack(values=(11.0, 12.0, 11.5, 11.8))), "Quality, EN 14298")[0]
    assert quality.startswith("not kept")
    assert "The mean is outside" in quality


@pytest.mark.parametrize("stated", [ALL, (), ("moisture",)])
def test_heat_treatment_is_never_claimed(stated):
    limits = told(issued(dry_stack(), stated=stated, kind="delivery_note")).limits
    assert any(limit.startswith("Heat treatment is not claimed") for limit in limits)


def test_what_is_not_known_is_said():
    paper = issued(StackFactory(lines=[]), kind="delivery_note")
    assert said(paper, "Moisture") == ["not measured"]
    assert said(paper, "Volume") == ["not known"]
    assert said(paper, "Thickness dry") == ["not measured"]
    assert said(paper, "Kiln run") == ["none on record here"]
    assert said(paper, "Quality, EN 14298") == ["not known: no boards were measured at the end of a run here"]
    assert said(issued(dry_stack(metered=False)), "Highest temperature") == ["not noted"]
    assert said(issued(dry_stack()), "Stress test") == ["none noted"]


def test_what_is_left_out_by_choice_is_said_too_and_not_frozen():
    paper = issued(dry_stack(), stated=("moisture",))
    assert "Not stated on this paper: the kiln run, the quality by EN 14298." in told(paper).limits
    assert "runs" not in paper.facts
    assert {"run", "quality"}.isdisjoint(paper.facts["items"][0])


def test_moisture_is_said_to_hold_for_the_day_alone():
    assert any("holds for the day" in limit for limit in told(issued(dry_stack())).limits)


@pytest.mark.parametrize(
    ("method", "depth", "words"),
    [
        ("pins", 8.0, "resistance meter with pins; 3 values; 1 June 2025; pins 8\u202fmm deep, by the issuer's word"),
        ("pins", None, "resistance meter with pins; 3 values; 1 June 2025; depth not noted"),
        ("oven_dry", 8.0, "oven-dry sections; 3 values; 1 June 2025; through the whole thickness"),
        ("sample_board", None, "weighed sample boards; 3 values; 1 June 2025; through the whole thickness"),
    ],
)
def test_the_method_is_named_with_how_deep_it_reads(method, depth, words):
    reading = ReadingFactory(method=method, wood_temperature_c=None)
    assert said(issued(reading.stack, depth_mm=depth, kind="delivery_note"), "Measured") == [words]


def test_a_voided_reading_is_not_stated():
    reading = ReadingFactory(voided_at=timezone.now(), void_reason="another stack")
    assert said(issued(reading.stack, kind="delivery_note"), "Moisture") == ["not measured"]


def test_core_and_shell_stand_on_it_where_they_were_measured():
    charge = finished(values=(8.0, 8.2))
    stack = charge.stacks.get().stack
    final = charge.final_measurements.get()
    final.pairs_pct = [[8.8, 7.6], [9.0, 7.8]]
    final.save()
    assert plain(said(issued(stack), "Core and shell")[0]) == "core 8.9 %, shell 7.7 %, 2 boards"


def test_the_highest_temperature_is_the_sensors_where_they_saw_more():
    charge = finished()
    series = SensorSeries.objects.create(device=SensorDeviceFactory(kiln=charge.kiln), quantity=Quantity.DRY_BULB)
    inside = int((BEGUN + timedelta(days=3)).timestamp())
    SensorReading.objects.create(series=series, second=inside, value=57.25)
    SensorMean.objects.create(series=series, second=inside + 600, minutes=10, count=9, mean=55, low=52, high=58.5)
    SensorMean.objects.create(series=series, second=inside - 9 * 86400, minutes=10, count=9, mean=70, low=69, high=71)
    (words,) = said(issued(charge.stacks.get().stack), "Highest temperature")
    assert words.startswith("58.5\u202f°C in the kiln's air, from 11 notes by hand and sensors;")


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ({"kind": "gap", "gap_mm": 0.1, "width_mm": 100}, "little stress: the halves lay close (10 July 2025)"),
        ({"kind": "gap", "gap_mm": 9, "width_mm": 100}, "much stress in it: the halves gaped (10 July 2025)"),
        ({"kind": "prong", "prong_mm": 100, "fresh_mm": 20}, "none noted"),  # it waits for its second look
        (
            {"kind": "prong", "prong_mm": 100, "fresh_mm": 20, "rested_mm": 12},
            "stress in it: the tips closed in (10 July 2025)",
        ),
    ],
)
def test_the_stress_test_stands_on_it_with_its_day(sizes, words):
    charge = finished()
    stack = charge.stacks.get().stack
    at = BEGUN + timedelta(days=9)
    StressTest.objects.create(charge=charge, stack=stack, at=at, **sizes)
    assert said(issued(stack), "Stress test") == [words]


def test_a_board_with_its_own_tag_is_stated_alone():
    board = BoardFactory(stack=dry_stack(), length_mm=3200, width_mm=420)
    paper = issued(board)
    (tag,), (measured,) = said(paper, "Tag"), said(paper, "Measured")
    assert "one board of stack" in tag
    assert "measured on the stack, not on this board" in measured
    assert paper.facts["items"][0]["volume_m3"] == pytest.approx(3.2 * 0.42 * 0.027, abs=5e-5)


def test_a_part_split_off_after_the_run_has_the_run_and_its_quality():
    stack = dry_stack()
    part = split(stack=stack, lines=[(4000, 150, 10)], by=None, at=timezone.now())
    facts = facts_of(part)
    assert facts["items"][0]["pieces"] == 10
    assert facts["items"][0]["run"] == 0
    assert facts["items"][0]["quality"]["passes"] is True
    assert not_dry(facts) == {}


def test_a_part_split_off_before_the_run_was_not_in_it():
    stack = dry_stack()
    part = split(stack=stack, lines=[(4000, 150, 10)], by=None, at=timezone.now())
    type(part).objects.filter(pk=part.pk).update(made_at=BEGUN - timedelta(days=3))
    assert facts_of(part)["items"][0]["run"] is None


def test_stacks_of_one_run_share_it_on_the_paper():
    stacks = [item.stack for item in finished(stacks=3).stacks.all()]
    paper = issued(*stacks)
    assert len(paper.facts["runs"]) == 1
    assert told(paper).total == "Together: 3 stacks or boards, 120 pieces, 1.944\u202fm³ as sawn"


# What can't be certified as dry


def test_wood_that_was_not_measured_or_is_wet_has_no_certificate():
    unread, wet = StackFactory(), ReadingFactory(raw=[31.0, 33.0]).stack
    assert not_dry(facts_of(unread, wet)) == {unread.code: "unread", wet.code: "wet"}
    assert not_dry(facts_of(unread, wet, kind="delivery_note")) == {}


def test_a_reading_from_before_the_run_certifies_nothing_and_is_not_given_as_the_moisture_of_now():
    charge = finished()
    stack = charge.stacks.get().stack
    charge.final_measurements.get().delete()
    stack.readings.filter(taken_at__gt=BEGUN).delete()
    assert not_dry(facts_of(stack)) == {stack.code: "read_before_run"}
    (words,) = said(issued(stack, kind="delivery_note"), "Moisture")
    assert words.startswith("not known: it was last measured before the kiln run ended")


# It stays so


def test_what_changes_in_the_yard_changes_no_paper_that_was_issued():
    Mill.objects.create(pk=1, name="Hollow mill")
    stack = dry_stack()
    before = told(paper := issued(stack))
    stack.species.name = stack.species.latin_name = "Otherwood"
    stack.species.save()
    stack.thickness_mm = 30
    stack.save()
    stack.lines.all().delete()
    stack.readings.update(voided_at=timezone.now(), void_reason="wrong")
    Mill.objects.update(name="Another mill")
    assert told(Paper.objects.get(pk=paper.pk)) == before


def test_the_mark_changes_with_any_fact_and_with_the_number():
    facts = facts_of(dry_stack())
    assert mark(facts, 1) == mark(dict(reversed(facts.items())), 1)
    marks = {mark(facts, 1), mark(facts, 2), mark(facts | {"to": "B"}, 1), mark(facts | {"note": "."}, 1)}
    assert len(marks) == 4


def test_no_paper_is_ever_deleted():
    paper = issued(dry_stack())
    for delete in (paper.delete, Paper.objects.all().delete, paper.stacks.get().delete):
        with pytest.raises(models.ProtectedError):
            delete()
    assert Paper.objects.filter(pk=paper.pk).exists()


# Numbers


def test_numbers_go_up_by_one_in_each_kind():
    stack = dry_stack()
    kinds = ["dry_certificate", "delivery_note", "dry_certificate", "dry_certificate"]
    papers = [issued(stack, kind=kind) for kind in kinds]
    assert [paper.number for paper in papers] == [1, 1, 2, 3]


def test_an_issue_that_fails_takes_no_number():
    stack = dry_stack()
    issued(stack)
    with pytest.raises(IntegrityError):
        issue(facts=facts_of(stack), subjects=subjects_of([stack.code]), charge=None, by=None, at=None)
    assert issued(stack).number == 2


def test_a_withdrawn_number_stays_taken():
    stack = dry_stack()
    withdraw(paper=issued(stack), why="wrong buyer", by=None, at=timezone.now())
    assert issued(stack).number == 2


@pytest.mark.django_db(transaction=True)
def test_two_who_issue_at_once_get_two_numbers_without_a_gap():
    stack = dry_stack()
    facts, subjects, start = facts_of(stack), subjects_of([stack.code]), Barrier(4)

    def go():
        start.wait()
        try:
            issue(facts=facts, subjects=subjects, charge=None, by=None, at=timezone.now())
        finally:
            connection.close()

    threads = [Thread(target=go) for _number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(Paper.objects.values_list("number", flat=True)) == [1, 2, 3, 4]
    assert PaperSeries.objects.get().last == 4


# Withdrawing, links


def test_it_is_withdrawn_once_with_its_reason_and_says_so():
    paper, user = issued(dry_stack()), UserFactory()
    withdraw(paper=paper, why="wrong buyer", by=user, at=timezone.now())
    paper.refresh_from_db()
    assert "wrong buyer" in told(paper).withdrawn
    with pytest.raises(Exception, match="already"):
        withdraw(paper=paper, why="again", by=user, at=timezone.now())
    with pytest.raises(Exception, match="withdrawn"):
        open_link(paper=paper, by=user, at=timezone.now())


def test_a_link_is_the_same_while_it_is_open_and_a_new_one_after_it_was_ended():
    paper = issued(dry_stack())
    first = open_link(paper=paper, by=None, at=timezone.now())
    assert open_link(paper=paper, by=None, at=timezone.now()) == first
    end_link(paper=paper, by=None, at=timezone.now())
    second = open_link(paper=paper, by=None, at=timezone.now())
    assert second.token != first.token
    assert not link_of(first.token).is_open
    assert link_of(second.token).is_open


def test_a_token_has_148_bits_of_the_tags_letters_and_is_found_as_people_type_it():
    link = open_link(paper=issued(dry_stack()), by=None, at=timezone.now())
    assert len(link.token) == 30
    assert link_of(link.token.lower()) == link_of(f"{link.token[:7]} {link.token[7:]}") == link
    assert link_of(link.token[:-1]) is None
    tokens = {open_link(paper=issued(StackFactory(), kind="delivery_note"), by=None, at=timezone.now()).token
              for _number in range(5)}  # fmt: skip
    assert len(tokens) == 5


def test_what_is_no_token_asks_no_database():
    with CaptureQueriesContext(connection) as queries:
        for text in ("", "x", "é" * 30, "%00" * 10, "0" * 30, "A" * 31):
            assert link_of(text) is None
    assert len(queries) == 0


def test_the_database_holds_one_open_link_a_paper_and_a_reason_for_what_is_withdrawn():
    paper = issued(dry_stack())
    open_link(paper=paper, by=None, at=timezone.now())
    with pytest.raises(IntegrityError), transaction.atomic():
        PaperLink.objects.create(paper=paper, token="x", token_hash="x", made_at=timezone.now())
    with pytest.raises(IntegrityError), transaction.atomic():
        Paper.objects.filter(pk=paper.pk).update(withdrawn_at=timezone.now())


def test_papers_are_found_by_any_of_their_words():
    wood = SpeciesFactory(name="Brook alder", latin_name="Alnus testa")
    stack = ReadingFactory(stack=StackFactory(species=wood), raw=[9.0, 9.2]).stack
    paper = issued(stack, note="for the gate")
    other = issued(dry_stack(), kind="delivery_note", to="Somebody else")
    for words in ("dry certificate 1", "joiner", "alder lane", "alnus", stack.code, "gate"):
        assert list(Paper.objects.saying(words)) == [paper]
    assert list(Paper.objects.saying("somebody")) == [other]
    assert list(Paper.objects.saying("alder somebody")) == []


def test_gathering_takes_as_many_queries_for_eight_stacks_as_for_one():
    counts = []
    for number in (1, 8):
        stacks = [item.stack for item in finished(stacks=number).stacks.all()]
        for stack in stacks:
            BoardFactory(stack=stack)
        with CaptureQueriesContext(connection) as queries:
            facts_of(*stacks)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_days_of_the_run_are_counted_from_its_door_to_its_door():
    assert facts_of(dry_stack())["runs"][0]["days"] == DAYS
