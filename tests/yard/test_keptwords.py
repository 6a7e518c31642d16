"""Words that the app itself keeps are read in the reader's language, those of before as well."""

from datetime import UTC, date, datetime

import pytest
from django.utils import timezone, translation

from tests.factories import PlaceFactory, SpeciesFactory, StackFactory
from yard import outlook
from yard.actions import readings, stacks
from yard.actions.places import set_preset
from yard.actions.species import keep_species
from yard.changes.words import corrected
from yard.exchange.given import stacks as stack_rows
from yard.forms.learning import LeaveOutForm
from yard.forms.place import PlaceForm
from yard.forms.reading import VoidForm
from yard.measures import system
from yard.models import Reading, Stack, keptwords

DAY = date(2026, 9, 22)
TOLD = {"en": "Small kiln, 22 September", "de": "Small kiln, 22. September", "sv": "Small kiln, 22 september"}


def in_each(tell):
    found = {}
    for language in ("en", "de", "sv"):
        with translation.override(language):
            found[language] = tell()
    return found


def kept_in(model, name):
    return list(model.objects.values_list(name, flat=True))


@pytest.mark.parametrize("kept", [keptwords.for_charge("Small kiln", DAY), *TOLD.values()])
def test_what_a_charge_keeps_wood_for_is_read_in_each_language_however_it_was_kept(kept):
    assert in_each(lambda: keptwords.set_aside(kept)) == TOLD


@pytest.mark.parametrize("words", ["", "the stairs", "stairs, 2", "Berg, upstairs", "Berg, 2026-13-01"])
def test_what_somebody_wrote_stands_as_it_is(words):
    for tell in (keptwords.set_aside, keptwords.reason, keptwords.settled, keptwords.climate, keptwords.set_here):
        assert set(in_each(lambda tell=tell: tell(words)).values()) == {words}


@pytest.mark.django_db
def test_a_stack_shows_it_in_the_reader_s_words_and_keeps_it_when_it_is_saved(user, signed_in):
    stack = StackFactory()
    kept = keptwords.for_charge("Small kiln", DAY)
    stacks.set_aside(stacks=[stack], for_what=kept, by=user, at=timezone.now())
    row = Stack.objects.get()
    assert in_each(lambda: row.set_aside_for) == TOLD
    with translation.override("de"):
        row.save()
        stacks.release(stacks=[row], by=user, at=timezone.now())
    assert row.events.get(kind="released").details == {"for_what": kept}
    signed_in.cookies["django_language"] = "sv"
    assert TOLD["sv"] in signed_in.get(f"/stacks/{stack.code}/history/").content.decode()


@pytest.mark.django_db
def test_a_sheet_gives_out_what_is_kept(user):
    stacks.set_aside(
        stacks=[StackFactory()], for_what=keptwords.for_charge("Small kiln", DAY), by=user, at=timezone.now()
    )
    with translation.override("de"):
        rows = [[str(cell) for cell in row] for row in stack_rows()]
    assert "Small kiln, 2026-09-22" in rows[0]


VOID = {"why": "typed", "words": "zu dick"}
VOIDED = {
    "en": "Mistyped, or the meter was set wrong: zu dick",
    "de": "Vertippt, oder das Gerät war falsch eingestellt: zu dick",
    "sv": "Felskrivet, eller mätaren var fel inställd: zu dick",
}


@pytest.mark.django_db
def test_a_usual_reason_is_read_in_each_language_with_somebody_s_words_after_it(user):
    reading = readings.add_reading(
        stack=StackFactory(), method="capacitance", raw=[20], taken_at=timezone.now(), by=user
    )
    with translation.override("de"):
        form = VoidForm(VOID)
        assert form.is_valid()
        readings.void_reading(reading=reading, reason=form.reason(), by=user, at=timezone.now())
    assert kept_in(Reading, "void_reason") == [VOIDED["en"]]
    assert in_each(lambda: Reading.objects.get().void_reason) == VOIDED


@pytest.mark.parametrize("kept", VOIDED.values())
def test_a_reason_that_was_kept_in_some_language_is_read_in_each(kept):
    assert in_each(lambda: keptwords.reason(kept)) == VOIDED


def test_each_usual_reason_has_its_own_words_in_each_language():
    for form in (VoidForm, LeaveOutForm):
        for why in form.KEPT:
            told = in_each(lambda form=form, why=why: keptwords.reason(form.KEPT[why]))
            assert told == in_each(lambda form=form, why=why: str(form.USUAL[why]))
            assert len(set(told.values())) == 3


def test_what_was_undone_and_what_was_chosen_instead_are_read_in_german():
    with translation.override("de"):
        assert keptwords.reason(keptwords.UNDONE) == "Rückgängig gemacht"
        instead = keptwords.reason(keptwords.INSTEAD % {"day": "2026-09-22"})
    assert "22. September 2026" in instead
    assert "Chosen" not in instead


@pytest.mark.parametrize("how", keptwords.SETTLED)
def test_how_something_was_sorted_out_is_read_in_german_and_of_old_rows_back_in_english(how):
    kept = how % {"code": "KL7Q-2M4X", "reason": "twice: the same"}
    whole = keptwords.IN_THE_NAME_OF % {"how": kept, "who": "Runa", "sender": "Ole"}
    with translation.override("de"):
        in_german = keptwords.settled(whole)
        assert keptwords.settled(kept) in in_german
        assert keptwords.settled(kept) != kept
    with translation.override("en"):
        assert keptwords.settled(in_german) == whole


@pytest.mark.django_db
def test_whence_an_owner_s_figure_is_that_is_read_in_german(user):
    species = SpeciesFactory()
    species.rate = 0.5
    keep_species(species=species, by=user, at=datetime(2026, 9, 22, 12, tzinfo=UTC))
    kept = species.sources["rate"]["text"]
    with translation.override("de"):
        told = keptwords.set_here(kept)
        assert "22. September 2026" in told
        assert user.username in told
        assert "set here" not in told


@pytest.mark.django_db
def test_a_place_s_climate_is_read_in_german_and_its_form_leaves_it(user):
    place = PlaceFactory()
    set_preset(place=place, key="cool_upland", by=user)
    with translation.override("de"):
        place.refresh_from_db()
        told = place.climate_note
        assert "upland" not in told
        assert "invented" not in told
        form = PlaceForm(instance=place)
        assert form["climate_note"].value() == told
        place.climate_note = told
        place.save()
    assert in_each(lambda: keptwords.climate(told))["en"] == "Cool upland (invented)"
    assert set(keptwords.CLIMATES) == {one.key for one in outlook.climate_presets()}
    assert kept_in(type(place), "climate_note") == ["Cool upland (invented)"]


@pytest.mark.django_db
def test_a_correction_is_told_in_words_and_in_the_reader_s_units(user):
    larch = SpeciesFactory(key="european_larch", name="European larch")
    stack = StackFactory()
    changes = {"thickness_mm": 32.0, "species": larch, "cut_on": DAY, "wood_part": "heartwood"}
    was = stack.thickness_mm
    with translation.override("de"):
        stacks.correct(stack=stack, changes=changes, by=user, at=timezone.now())
    kept = stack.events.get(kind="corrected").details["changes"]
    assert kept["species"][1] == "European larch"
    with translation.override("de"), system.told_in(system.IMPERIAL):
        lines = dict(corrected(kept))
    assert (lines["thickness_mm"].now, lines["thickness_mm"].unit) == ("1,260", "in")
    assert "mm" not in lines["thickness_mm"].name
    assert lines["species"].now == "Lärche"
    assert lines["cut_on"].now == "22. September 2026"
    assert lines["wood_part"].now == "Kernholz"
    assert was != stack.thickness_mm


def test_a_paper_in_a_history_is_called_in_the_reader_s_words():
    with translation.override("sv"):
        told = keptwords.paper("delivery_note 12")
        assert told == keptwords.paper("delivery note 12")
    assert told.endswith(" 12")
    assert "delivery" not in told


@pytest.mark.django_db
def test_what_is_read_is_found_in_the_list(user, signed_in):
    wanted, other = StackFactory(), StackFactory()
    for stack, on in ((wanted, DAY), (other, date(2026, 9, 23))):
        kept = keptwords.for_charge("Small kiln", on)
        stacks.set_aside(stacks=[stack], for_what=kept, by=user, at=timezone.now())
    for language, words in TOLD.items():
        signed_in.cookies["django_language"] = language
        for text in (words, words.partition(", ")[2]):
            page = signed_in.get("/yard/", {"text": text}).content.decode()
            assert (wanted.code in page, other.code in page) == (True, False)
