"""What was learned, in words; looked into, left out, put back, reset."""

import pytest

from tests.factories import PlaceFactory, SpeciesFactory, StackFactory
from tests.yard.queries import queries_of
from tests.yard.test_outlook_learning import finished
from yard import outlook
from yard.models import LearningChange
from yard.outlook import Shift
from yard.templatetags.learned import pace, pace_band, pace_short

pytestmark = pytest.mark.django_db


@pytest.fixture
def larch():
    return SpeciesFactory(name="larch", key="larch", rate=0.3)


@pytest.fixture
def shed():
    return PlaceFactory(name="Long shed")


@pytest.fixture
def owner(signed_in, user):
    user.is_staff = True
    user.save()
    return signed_in


def text_of(answer):
    return " ".join(answer.content.decode().replace("\u202f", " ").split())


def shift(mean, sd):
    return Shift(mean, sd, sd, 1)


def plain(words):
    return words.replace("\u202f", " ")


def test_the_pace_in_words():
    assert plain(pace(shift(0.1823, 0.1))) == "20 % faster than the book"
    assert plain(pace(shift(-0.2231, 0.1))) == "20 % slower than the book"
    assert pace(shift(0.001, 0.1)) == "as fast as the book"
    assert plain(pace(1.08)) == "8 % faster than the book"
    assert [plain(pace_short(shift(mean, 0.1))) for mean in (0.1823, -0.2231, 0)] == [
        "20 % faster",
        "20 % slower",
        "as the book",
    ]


def test_its_band_in_words():
    assert plain(pace_band(shift(0.1823, 0.0801))) == "between 8 and 33 %"
    assert plain(pace_band(shift(-0.2231, 0.08))) == "between 11 and 28 %"
    assert plain(pace_band(shift(0.05, 0.1))) == "between 8 % slower and 20 % faster"
    assert plain(pace_band(shift(0, 0.1))) == "between 12 % slower and 14 % faster"


def test_an_empty_yard_is_told_how_to_begin(signed_in):
    text = text_of(signed_in.get("/learned/"))
    assert "Nothing yet" in text
    assert "Read a stack twice or more" in text


def test_what_was_learned_is_said_in_words_with_its_stacks(signed_in, larch, shed):
    for _number in range(6):
        finished(larch, shed, deviation=0.3, sd=0.1)
    kind = outlook.knowledge().kind(larch, shed)
    text = text_of(signed_in.get("/learned/"))
    words = (
        f"Long shed dries larch {plain(pace(kind.shift))}, from 6 stacks ({plain(pace_band(kind.shift))}, four times"
    )
    assert words in text
    assert 'href="/learned/larch/' in text
    assert f'id="species-{larch.pk}"' in text
    assert f'id="place-{shed.pk}"' in text
    assert "Forget some of it" not in text
    for path in ("/setup/", "/species/larch/", f"/places/{shed.pk}/"):
        assert 'href="/learned/' in text_of(signed_in.get(path))


def test_each_stack_is_shown_with_what_it_said(signed_in, larch, shed):
    stack, odd = finished(larch, shed, deviation=0.2624), finished(larch, shed, deviation=-1.8, sd=0.1)
    for _number in range(6):
        finished(larch, shed, sd=0.1)
    text = text_of(signed_in.get(f"/learned/larch/{shed.pk}/"))
    assert "from 8 stacks" in text
    assert "30 % faster" in text  # its own, undiluted
    assert "3 readings, the last on" in text
    assert text.count(">far from the others</span>") == 1
    assert f"/learned/stacks/{stack.code}/" in text
    assert f"/learned/stacks/{odd.code}/" in text
    assert signed_in.get(f"/learned/nothing/{shed.pk}/").status_code == 404


def test_a_stack_is_left_out_with_a_reason_and_put_back(signed_in, user, larch, shed):
    stack = finished(larch, shed)
    page = f"/learned/stacks/{stack.code}/"
    answer = signed_in.post(page, {"words": "snow"})
    assert answer.status_code == 422
    assert "Choose one" in text_of(answer)
    assert 'value="snow"' in text_of(answer)
    assert signed_in.post(page, {"why": "pocket", "words": "snow"}).url == "/learned/"
    row = LearningChange.objects.get()
    assert (row.kind, row.by, row.reason) == ("left_out", user, "A wet pocket, rain or snow got in: snow")
    overview, kind = text_of(signed_in.get("/learned/")), text_of(signed_in.get(f"/learned/larch/{shed.pk}/"))
    assert "No stack of it counts at present." in overview
    assert "A wet pocket, rain or snow got in: snow" in overview
    assert "Put it back" in kind
    assert signed_in.post(page, {"reason": ""}).status_code == 422
    signed_in.post(page, {"reason": "the tag was right"})
    assert outlook.knowledge().counting[0].stack == stack
    assert "from 1 stack (" in text_of(signed_in.get("/learned/"))


def test_only_an_owner_resets(signed_in, larch, shed):
    finished(larch, shed)
    assert signed_in.get("/learned/reset/").status_code == 403
    assert signed_in.post("/learned/reset/", {"what": "all", "reason": "x"}).status_code == 403
    assert not LearningChange.objects.exists()


@pytest.mark.parametrize("what", ["all", "species-{s}", "place-{p}", "kind-{s}-{p}"])
def test_a_reset_takes_a_reason_and_is_logged(owner, larch, shed, what):
    finished(larch, shed)
    value = what.format(s=larch.pk, p=shed.pk)
    assert f'value="{value}" selected' in text_of(owner.get(f"/learned/reset/?what={value}"))
    refused = owner.post("/learned/reset/", {"what": value, "reason": " "})
    assert refused.status_code == 422
    assert "Say in a few words why" in text_of(refused)
    assert owner.post("/learned/reset/", {"what": "species-0", "reason": "x"}).status_code == 422
    assert owner.post("/learned/reset/", {"what": value, "reason": "new roof"}).url == "/learned/"
    assert outlook.knowledge().counting == []
    text = text_of(owner.get("/learned/"))
    assert "new roof" in text
    assert "orgotten" in text
    assert "Read before a reset" in text_of(owner.get(f"/learned/larch/{shed.pk}/"))


def test_the_stack_page_says_that_it_set_out_from_what_was_learned(signed_in, larch, shed):
    stack = StackFactory(species=larch, place=shed)
    outlook.refresh([stack])
    assert "what this yard has learned" not in text_of(signed_in.get(f"/stacks/{stack.code}/"))
    for _number in range(6):
        finished(larch, shed)
    outlook.refresh([stack])
    text = text_of(signed_in.get(f"/stacks/{stack.code}/"))
    assert "what this yard has learned</a>, from 6 other stacks: " in text
    assert "faster than the book" in text


def test_pages_take_as_many_queries_for_two_stacks_as_for_twelve(owner, larch, shed):
    paths = ("/learned/", f"/learned/larch/{shed.pk}/", "/learned/reset/")
    counts = []
    for more in (2, 10):
        for _number in range(more):
            finished(larch, shed)
            finished(SpeciesFactory(), shed)
        counts.append([queries_of(owner, path) for path in paths])
    assert counts[0] == counts[1]
