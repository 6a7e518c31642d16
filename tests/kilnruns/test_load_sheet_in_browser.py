"""The load sheet on paper: one page, whatever the load, and type that is read at arm's length. Printed by a real
Chromium. Each kind of load is printed once a paper; what is asked of it is asked of that."""

import os
import random
from pathlib import Path

import pytest

from kilnruns.planning.chambers import space
from tests.browser.signing_in import sign_in
from tests.chromium import chromium
from tests.factories import SpeciesFactory, UserFactory
from tests.kilnruns.factories import ChargeFactory, KilnFactory, charge_of, packs_stood, ready_stack
from tests.kilnruns.printed import pages, sizes, smallest_pt, words

__all__ = ["chromium"]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LEAST_PT = 7.0


@pytest.fixture
def printed(chromium, live_server):
    """Prints a charge's sheet on a paper, as bytes of a PDF; kept for people where DRYSTACK_PICTURES names a folder."""
    user = UserFactory()
    context = chromium.new_context(base_url=live_server.url)
    context.set_default_timeout(20_000)
    page = context.new_page()
    sign_in(page, user)

    def onto(charge, paper, name="sheet"):
        page.goto(f"/charges/{charge.pk}/sheet/")
        pdf = page.pdf(format=paper)
        if folder := os.environ.get("DRYSTACK_PICTURES"):
            (Path(folder) / f"{name}-{paper}.pdf").write_bytes(pdf)
        return pdf

    yield onto
    context.close()


def mixed_stacks(count):
    """Stacks of boards in many lengths and widths, so that no two layers are alike."""
    dice = random.Random(3)
    lines = [(dice.randrange(1800, 4200, 50), dice.choice([110, 125, 140, 160, 175, 190])) for _ in range(400)]
    woods = [SpeciesFactory(name=f"European hornbeam {n}") for n in range(count)]  # as long as names get
    return [ready_stack(wood, lines=[(*size, 1) for size in lines[n::count][:26]]) for n, wood in enumerate(woods)]


def small_by_hand():
    return charge_of()


def full_by_hand():
    charge = charge_of(*mixed_stacks(10), kiln=KilnFactory(height_mm=1220))
    assert len(charge.layout["layers"]) >= 25
    return charge


def of_packs(count):
    kiln = KilnFactory(loading="pack", length_mm=6400, width_mm=2500, height_mm=2700, sticker_mm=80)
    stacks = [ready_stack() for _ in range(count)]
    layout = packs_stood({stack.code: (3100, 1200, 560) for stack in stacks}, space(kiln))
    charge = charge_of(*stacks, kiln=kiln, layout=layout)
    assert len(layout["placed"]) == count
    return charge


LOADS = {
    "small-by-hand": small_by_hand,
    "full-by-hand": full_by_hand,
    "small-by-pack": lambda: of_packs(3),
    "full-by-pack": lambda: of_packs(16),
}


@pytest.mark.parametrize("load", LOADS)
def test_a_charge_is_one_page_and_nothing_on_it_is_smaller_than_7_pt(printed, load):
    charge = LOADS[load]()
    for paper in ("A4", "Letter"):
        pdf = printed(charge, paper, load)
        assert pages(pdf) == 1, paper
        assert smallest_pt(pdf) >= LEAST_PT, sizes(pdf)
        text = words(pdf)
        missing = [item.stack.code for item in charge.stacks.all() if item.stack.code not in text.replace(" ", "")]
        assert missing == [], "each stack to bring is named"
        assert "Nobody inside; door opens from within" in text


def test_boards_without_room_for_a_letter_have_it_beside_their_layer(printed):
    text = words(printed(full_by_hand(), "A4"))
    assert "A–J" in text or "A–I" in text


def test_the_page_counter_and_the_measure_see_what_is_wrong(printed):
    small = printed(ChargeFactory(), "A6")
    assert pages(small) > 1
    assert len(sizes(small)) > 1
