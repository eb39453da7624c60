"""On a telephone no table breaks its words apart."""

from __future__ import annotations

from functools import cache

import pytest
from playwright.sync_api import Browser

from checker.board import Unchecked
from checker.calibration import Change, calibrate
from checker.findings import Verdict
from checker.process import load_profile
from checker.report.html import html_page
from checker.report.html.calibration import calibration_page
from tests.browser.pages import judged
from tests.calibration.machine import machine

# Words of a table that stand on more lines than one.
BROKEN = r"""() => [...document.querySelectorAll("th, td")].flatMap(cell => {
  const found = [], walk = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    for (const word of walk.currentNode.data.matchAll(/[a-z.,]{2,14}/gi)) {
      const range = document.createRange();
      range.setStart(walk.currentNode, word.index);
      range.setEnd(walk.currentNode, word.index + word[0].length);
      const lines = new Set([...range.getClientRects()].map(box => Math.round(box.top)));
      if (lines.size > 1) found.push(word[0]);
    }
  }
  return found;
})"""


@cache
def calibration() -> str:
    found = calibrate(load_profile("cone-30-0.1"), machine(12).coupon())
    open_ = (Unchecked("holes", "no drill file"),)
    change = Change("hive-scale", Verdict.MAKEABLE, Verdict.MARGINAL, 0, 3, open_, open_)
    return calibration_page(found, (change,))


@cache
def index() -> str:
    pair = judged("boards/coop-door", "cone-30-0.1")
    return html_page([pair, pair], 1.0)


@pytest.mark.parametrize("page", [calibration, index])
@pytest.mark.parametrize("width", [400, 1200])
def test_no_word_of_a_table_is_broken(browser: Browser, page: object, width: int) -> None:
    assert callable(page)
    with browser.new_context(viewport={"width": width, "height": 900}) as context:
        shown = context.new_page()
        shown.set_content(page())

        assert shown.evaluate(BROKEN) == []
        assert shown.evaluate("document.documentElement.scrollWidth") <= width
