"""At 360 px: a sum on one line with its unit, a table's head with whole words, a chart that names its unit."""

from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.test_offline_pages import visit, yard
from tests.factories import StackFactory
from yard.actions.language import choose

__all__ = ["visit", "yard"]
LINES = """element => {
  const range = document.createRange();
  range.selectNodeContents(element);
  return new Set([...range.getClientRects()].map(one => Math.round(one.top))).size;
}"""
WIDER = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
BROKEN = """heads => heads.flatMap(head => {
  const walk = document.createTreeWalker(head, NodeFilter.SHOW_TEXT), broken = [];
  for (let text; (text = walk.nextNode());) {
    for (const found of text.data.matchAll(/[^\\s\\u00ad]+/gu)) {
      const tops = new Set();
      for (let at = found.index; at < found.index + found[0].length; at++) {
        const range = document.createRange();
        range.setStart(text, at);
        range.setEnd(text, at + 1);
        tops.add(Math.round([...range.getClientRects()].at(-1).top));
      }
      if (tops.size > 1) broken.push(found[0]);
    }
  }
  return broken;
})"""


@pytest.mark.parametrize("language", ["en", "de", "sv"])
def test_a_stock_of_a_million_board_feet_stays_on_one_line(signed_in: Page, owner: Any, language: str) -> None:
    choose(language=language, units="imperial", by=owner)
    StackFactory(thickness_mm=50, lines=[(4000, 250, 58_265)])
    signed_in.goto("/stock/")
    figure = signed_in.locator(".figure.big").first
    assert "".join(one for one in figure.inner_text() if one.isdigit()) == "1234565"
    assert figure.evaluate(LINES) == 1
    assert signed_in.evaluate(WIDER) == 0
    assert "bd ft" in [text.replace("\u00a0", " ") for text in signed_in.locator("svg.curve text").all_text_contents()]
    assert signed_in.locator(".data thead th").evaluate_all(BROKEN) == []


@pytest.mark.service_worker
def test_the_words_of_a_schedule_s_head_are_whole_without_reception(visit: Any, yard: Any, owner: Any) -> None:
    choose(language="de", by=owner)
    page = visit()
    page.goto("/charges/{running}/".format(**yard))
    heads = page.locator("table.schedule thead th")
    heads.first.wait_for()
    assert heads.first.inner_text() == "Stufe"
    assert heads.evaluate_all(BROKEN) == []
    assert page.evaluate(WIDER) == 0
