"""The load sheet on paper: one page, whatever the load. Printed by a real Chromium."""

import random
import re

import pytest

from kilnruns.planning.chambers import space
from tests.browser.signing_in import sign_in
from tests.chromium import chromium
from tests.factories import UserFactory
from tests.kilnruns.factories import ChargeFactory, KilnFactory, charge_of, packs_stood, ready_stack

__all__ = ["chromium"]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def printed(chromium, live_server):
    """Prints a charge's sheet on a paper, as bytes of a PDF."""
    user = UserFactory()
    context = chromium.new_context(base_url=live_server.url)
    context.set_default_timeout(20_000)
    page = context.new_page()
    sign_in(page, user)

    def onto(charge, paper):
        page.goto(f"/charges/{charge.pk}/sheet/")
        return page.pdf(format=paper)

    yield onto
    context.close()


def pages(pdf):
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def mixed_stacks(count):
    """Stacks of boards in many lengths and widths, so that no two layers are alike."""
    dice = random.Random(3)
    sizes = [(dice.randrange(1800, 4200, 50), dice.choice([110, 125, 140, 160, 175, 190])) for _ in range(400)]
    return [ready_stack(lines=[(*size, 1) for size in sizes[n::count][:26]]) for n in range(count)]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_small_load_is_one_page(printed, paper):
    assert pages(printed(charge_of(), paper)) == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_twenty_five_different_layers_of_ten_stacks_are_one_page(printed, paper):
    charge = charge_of(*mixed_stacks(10), kiln=KilnFactory(height_mm=1220))
    assert len(charge.layout["layers"]) >= 25
    assert pages(printed(charge, paper)) == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_chamber_full_of_packs_is_one_page(printed, paper):
    kiln = KilnFactory(loading="pack", length_mm=6400, width_mm=2500, height_mm=2700, sticker_mm=80)
    stacks = [ready_stack() for _ in range(16)]
    layout = packs_stood({stack.code: (3100, 1200, 560) for stack in stacks}, space(kiln))
    charge = charge_of(*stacks, kiln=kiln, layout=layout)
    assert len(layout["placed"]) == 16
    assert pages(printed(charge, paper)) == 1


def test_the_page_counter_sees_a_second_page(printed):
    charge = ChargeFactory()
    assert pages(printed(charge, "A6")) > 1
