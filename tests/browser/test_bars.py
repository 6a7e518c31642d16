"""The bars at the foot of a phone's screen hide nothing for good: what Tab comes to is scrolled free of them."""

from tests.kilnruns.factories import propose

STOP = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const box = one.getBoundingClientRect();
  const inBar = Boolean(one.closest("nav.bar, .acts, .skip"));
  const bars = [...document.querySelectorAll("nav.bar, .acts")].map((bar) => bar.getBoundingClientRect().top);
  const free = box.top >= 0 && box.bottom <= Math.min(innerHeight, ...bars) + 1;
  return { words: one.textContent.trim().slice(0, 60), inBar, free, at: [box.top, box.bottom, ...bars] };
}"""


def test_no_link_that_tab_comes_to_lies_under_a_bar(signed_in, accessible):
    proposal = propose()
    signed_in.goto(f"/proposals/{proposal.pk}/")
    accessible(signed_in)
    stops = []
    for _turn in range(60):
        signed_in.keyboard.press("Tab")
        stop = signed_in.evaluate(STOP)
        if stop is None:
            break
        stops.append(stop)
    assert any("What shall become of it" in stop["words"] for stop in stops)
    assert [stop for stop in stops if not stop["inBar"] and not stop["free"]] == []
