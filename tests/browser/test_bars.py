"""The bars at the foot of a phone's screen hide nothing for good: what Tab comes to is scrolled free of them."""

from tests.browser.keys import Keys
from tests.kilnruns.factories import charge_of, propose


def test_nothing_that_tab_comes_to_lies_under_anything_else(signed_in, accessible):
    """On two long pages, one of links, one of fields: the keys look at each stop."""
    keys = Keys(signed_in)
    signed_in.goto(f"/proposals/{propose().pk}/")
    accessible(signed_in)
    assert any(stop.name.startswith("What shall become of it") for stop in keys.walk())
    charge = charge_of()
    signed_in.goto(f"/charges/{charge.pk}/schedule/")
    fields = [stop.name for stop in keys.walk() if stop.name.startswith("Dry bulb")]
    assert len(fields) == len(charge.course["steps"])
