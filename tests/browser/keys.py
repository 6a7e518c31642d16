"""A page worked by keys alone: each stop has a name, a ring, and nothing over it (WCAG 2.4.7, 2.4.11, 4.1.2)."""

from dataclasses import dataclass

from playwright.sync_api import Page

from tests.browser.hearing import Heard, heard, muddles, properties, value

MOST_STOPS = 60

# What has the focus: how many sides of its ring are drawn where nothing cuts them off (the ring goes round a tick's
# label; a bar in a drawing has its edge instead), and which of three points down its middle are off the screen or under
# something that is neither in it nor around it.
STOP = """() => {
  const one = document.activeElement;
  const bar = one instanceof SVGElement ? one.querySelector("rect") : null;
  const shown = bar || (one.matches("input[type=radio], input[type=checkbox]") && one.closest("label")) || one;
  const style = getComputedStyle(shown);
  const box = shown.getBoundingClientRect();
  const wide = parseFloat(style.outlineWidth), off = parseFloat(style.outlineOffset);
  const outlined = style.outlineStyle !== "none" && wide >= 2
    && !(off < 0 && style.outlineColor === style.backgroundColor);
  const drawn = bar ? parseFloat(style.strokeWidth) >= 4 && style.stroke !== "none" : outlined;
  const out = bar ? 0 : Math.max(0, off + 1);
  const cuts = [{ left: 0, top: 0, right: document.documentElement.clientWidth, bottom: innerHeight }];
  for (let around = shown.parentElement; around && around !== document.body; around = around.parentElement)
    if (getComputedStyle(around).overflowX !== "visible") cuts.push(around.getBoundingClientRect());
  const sides = ["left", "top", "right", "bottom"].filter((side) => cuts.every((cut) =>
    side === "left" || side === "top" ? box[side] - out >= cut[side] : box[side] + out <= cut[side]));
  const hidden = [0.1, 0.5, 0.9].map((down) => {
    const [x, y] = [box.left + box.width / 2, box.top + down * box.height];
    const top = document.elementFromPoint(x, y);
    if (top && (shown.contains(top) || one.contains(top) || top.contains(shown))) return "";
    return `${Math.round(x)},${Math.round(y)} ${top ? top.tagName + "." + top.className : "off the screen"}`;
  });
  return {
    body: one === document.body,
    words: one.textContent.trim().replace(/\\s+/g, " "),
    ring: drawn ? sides : [],
    hidden: box.height > innerHeight / 2 ? [] : hidden.filter(Boolean),
  };
}"""


@dataclass(frozen=True)
class Stop:
    """What has the focus, as a reader of the screen has it."""

    role: str
    name: str
    description: str
    invalid: bool
    words: str


class Keys:
    """Somebody who has no pointer."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.tree = page.context.new_cdp_session(page)
        self.tree.send("Accessibility.enable")
        self.heard: list[Heard] = []

    def press(self, key: str) -> Stop:
        """Press a key; what has the focus then, which must be named, ringed and in sight."""
        self.page.keyboard.press(key)
        return self.stop()

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)

    def enter(self, heading: str, *, key: str = "Enter") -> None:
        """Press Enter, and be on a new page whose first heading begins so."""
        self.page.evaluate("window.left = false")
        self.page.keyboard.press(key)
        self.page.wait_for_function(
            """heading => window.left === undefined && document.readyState === "complete" &&
            document.querySelector("h1")?.innerText.replace(/\\s+/g, " ").startsWith(heading)""",
            arg=heading,
        )
        self.heard = heard(self.tree)
        assert not (found := muddles(self.heard)), f"{self.page.url}: {found}"

    def stop(self) -> Stop:
        seen = self.page.evaluate(STOP)
        assert not seen["body"], f"{self.page.url}: the focus is lost"
        stop = self._said(seen["words"])
        assert len(seen["ring"]) > 2, f"{self.page.url}: no ring round {stop}, but {seen['ring']}"
        assert seen["hidden"] == [], f"{self.page.url}: {stop} is not to be seen: {seen['hidden']}"
        assert stop.name, f"{self.page.url}: no name for {stop}"
        return stop

    def walk(self) -> list[Stop]:
        """All stops of the page that is open, from its top until Tab leaves it."""
        stops: list[Stop] = []
        while len(stops) < MOST_STOPS:
            self.page.keyboard.press("Tab")
            if self.page.evaluate("document.activeElement === document.body"):
                return stops
            stops.append(self.stop())
        raise AssertionError(f"{self.page.url}: Tab never leaves it")

    def landed(self) -> Stop:
        """What was put in focus for it to be read, such as a message: no key does anything there, so no ring."""
        self.page.wait_for_function(f"() => {{ const seen = ({STOP})(); return !seen.body && !seen.hidden.length; }}")
        seen = self.page.evaluate(STOP)
        return self._said(seen["words"])

    def headings(self) -> list[Heard]:
        """Of the page that was come to last."""
        return [one for one in self.heard if one.role == "heading"]

    def is_in_main(self) -> bool:
        """Whether something of the page itself has the focus: then the bar stands before it."""
        return bool(self.page.evaluate("document.querySelector('main').contains(document.activeElement)"))

    def skip(self) -> None:
        """From the top of a new page past what is the same on all; a form sent after a skip lands there by itself."""
        if self.page.evaluate("location.hash === '#main' && document.activeElement.id === 'main'"):
            return
        assert self.page.evaluate("document.activeElement === document.body"), "something has the focus already"
        assert self.press("Tab").name == "Skip to the content"
        self.page.keyboard.press("Enter")
        assert self.page.evaluate("document.activeElement.id") == "main"

    def tab_to(self, name: str, *, role: str = "", back: bool = False) -> Stop:
        """By Tab alone, each stop on the way looked at."""
        passed = []
        for _turn in range(MOST_STOPS):
            stop = self.press("Shift+Tab" if back else "Tab")
            if stop.name.startswith(name) and role in ("", stop.role):
                return stop
            passed.append(stop.name)
        raise AssertionError(f"{self.page.url}: Tab never came to {name!r}, but to {passed}")

    def _said(self, words: str) -> Stop:
        found = self.tree.send("Runtime.evaluate", {"expression": "document.activeElement"})["result"]["objectId"]
        asked = {"objectId": found, "fetchRelatives": False}
        node = self.tree.send("Accessibility.getPartialAXTree", asked)["nodes"][0]
        invalid = properties(node).get("invalid", "false") not in ("false", False)
        return Stop(value(node, "role"), value(node, "name"), value(node, "description"), invalid, words)
