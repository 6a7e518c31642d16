"""Sample boards of a stack."""

import pytest
from django.utils import timezone

from tests.factories import StackFactory
from tests.yard.queries import queries_of
from yard.actions.readings import add_reading, void_reading
from yard.models import Outlook, SampleBoard

pytestmark = pytest.mark.django_db


def cut(client, stack, **data):
    fields = {"label": "A", "green_mass_g": "3200", "wet_1": "68", "dry_1": "40", "made_on": "2025-05-01", **data}
    return client.post(f"/stacks/{stack.code}/samples/", fields)


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_the_oven_dry_mass_follows_from_both_sections(signed_in):
    stack = StackFactory()
    assert cut(signed_in, stack, wet_2="66,0", dry_2="40").url == f"/stacks/{stack.code}/samples/"
    board = SampleBoard.objects.get()
    # mean of 70 and 65 %: 3200 / 1.675 (USDA AH-188 ch. 6)
    assert board.oven_dry_mass_g == pytest.approx(1910.4, abs=0.1)
    assert board.section_masses_g == [[68, 40], [66, 40]]


def test_its_weighings_are_shown_and_it_can_be_weighed_again(signed_in, user):
    stack = StackFactory()
    cut(signed_in, stack)  # 70 %: oven-dry 1882 g
    masses = {"method": "sample_board", "sample_labels": ["A"], "raw": [2400]}
    add_reading(stack=stack, taken_at=timezone.now(), by=user, **masses)
    text = text_of(signed_in.get(f"/stacks/{stack.code}/samples/"))
    assert "2400 g" in text
    assert "27.5 %" in text
    assert "?method=sample_board" in text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"label": ""}, "This field is required"),
        ({"label": "a"}, "has a sample board a already"),
        ({"green_mass_g": "0"}, "at least 1 g"),
        ({"wet_1": ""}, "This field is required"),
        ({"wet_2": "60"}, "The other mass is missing"),
        ({"wet_1": "30"}, "are the two swapped?"),
        ({"wet_1": "680"}, "No wood is that wet"),
    ],
)
def test_what_no_board_can_have_is_refused_at_its_field(signed_in, data, words):
    stack = StackFactory()
    cut(signed_in, stack)
    answer = cut(signed_in, stack, **{"label": "B", **data})
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert SampleBoard.objects.count() == 1


def test_two_stacks_may_each_have_a_board_a(signed_in):
    for _number in range(2):
        assert cut(signed_in, StackFactory()).status_code == 302


def test_three_and_thirty_boards_take_the_same_queries(signed_in):
    def stack_with(boards):
        stack = StackFactory()
        for number in range(boards):
            cut(signed_in, stack, label=f"{number}")
        return f"/stacks/{stack.code}/samples/"

    few, many = stack_with(3), stack_with(30)
    assert queries_of(signed_in, few) == queries_of(signed_in, many)


def test_no_such_stack_is_not_found(signed_in):
    assert signed_in.get("/stacks/22222222XX/samples/").status_code == 404


def provisional(client, stack, **data):
    cut(client, stack, **{"dry_1": "", "meter": "58 62", "green_mass_g": "3200", **data})
    return stack.sample_boards.get(label=data.get("label", "A"))


def made_good(client, board, *dry, **data):
    masses = {f"board{board.pk}-dry_{number}": mass for number, mass in enumerate(dry, 1)}
    return client.post(f"/stacks/{board.stack.code}/samples/", {"board": board.pk, **masses, **data})


def test_while_its_sections_are_in_the_oven_the_pins_stand_in(signed_in):
    board = provisional(signed_in, StackFactory(), wet_2="66")
    assert board.provisional
    assert board.section_masses_g == [[68, None], [66, None]]
    assert board.moisture_when_cut_pct == pytest.approx(60, abs=20)  # corrected for the season's warmth and the wood
    assert "Provisional: by the meter" in text_of(signed_in.get(f"/stacks/{board.stack.code}/samples/"))


def test_without_oven_and_without_pins_nothing_is_kept_and_nothing_lost(signed_in):
    answer = cut(signed_in, StackFactory(), dry_1="")
    assert answer.status_code == 422
    assert "what the pins in the board say" in text_of(answer)
    assert 'value="3200"' in text_of(answer)
    assert not SampleBoard.objects.exists()


def test_made_good_all_its_weighings_are_reckoned_anew(signed_in, user):
    stack = StackFactory()
    board = provisional(signed_in, stack)
    cut(signed_in, stack, label="B")  # 70 %: oven-dry 1882.4 g
    weigh = {"stack": stack, "method": "sample_board", "by": user, "taken_at": timezone.now()}
    both = add_reading(sample_labels=["A", "B"], raw=[2400, 2400], **weigh)
    other = add_reading(sample_labels=["B"], raw=[2300], **weigh)
    wrong = add_reading(sample_labels=["A"], raw=[2400], **weigh)
    void_reading(reading=wrong, reason="Another board", by=user, at=timezone.now())
    before = {
        "other": other.moisture_pct,
        "wrong": wrong.moisture_pct,
        "ready": Outlook.objects.get(stack=stack).ready_p50,
    }
    assert made_good(signed_in, board, "40").status_code == 302
    for one in (board, both, other, wrong):
        one.refresh_from_db()
    assert not board.provisional
    assert board.section_masses_g == [[68, 40]]
    assert board.oven_dry_mass_g == pytest.approx(3200 / 1.7)
    assert both.corrected_pct == [27.5, 27.5]
    assert both.moisture_pct == 27.5
    assert (other.moisture_pct, wrong.moisture_pct) == (before["other"], before["wrong"])
    assert Outlook.objects.get(stack=stack).ready_p50 != before["ready"]
    told = stack.events.filter(kind="corrected").get()
    assert told.details == {"sample_board": "A", "weighings": 1}


@pytest.mark.parametrize(
    ("dry", "words"),
    [
        ("", "This field is required"),
        ("80", "are the two swapped?"),
        ("4", "No wood is that wet"),
        ("67", "a weighing of this board would be of no wood"),  # 1.5 % when cut: lighter than oven-dry later
    ],
)
def test_what_no_section_can_weigh_is_refused_and_changes_nothing(signed_in, user, dry, words):
    stack = StackFactory()
    board = provisional(signed_in, stack)
    masses = {"sample_labels": ["A"], "raw": [2400], "method": "sample_board"}
    reading = add_reading(stack=stack, taken_at=timezone.now(), by=user, **masses)
    answer = made_good(signed_in, board, dry)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert f'value="{dry}"' in text_of(answer) or not dry
    assert SampleBoard.objects.get().provisional
    assert stack.readings.get().moisture_pct == reading.moisture_pct


def test_made_good_twice_is_said_and_another_stacks_board_is_not_found(signed_in):
    board = provisional(signed_in, StackFactory())
    made_good(signed_in, board, "40")
    answer = made_good(signed_in, board, "41")
    assert "are kept already" in text_of(signed_in.get(answer.url))
    assert SampleBoard.objects.get().section_masses_g == [[68, 40]]
    assert signed_in.post(f"/stacks/{StackFactory().code}/samples/", {"board": board.pk}).status_code == 404


def test_one_form_sent_twice_makes_good_once(signed_in):
    board = provisional(signed_in, StackFactory())
    first, again = (made_good(signed_in, board, "40", key="0d6f0c6e-5c0a-4c55-9a6a-3f2a8f6b1c11") for _n in range(2))
    assert (first.status_code, first.url) == (again.status_code, again.url)
    assert board.stack.events.filter(kind="corrected").count() == 1
