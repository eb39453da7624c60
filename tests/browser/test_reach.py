from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.conftest import Opener
from tests.browser.pages import page
from tests.examples import quick

TIDE = "boards/tide-logger"
TABBABLE = "a[href], button:not(:disabled), input, summary, [tabindex='0']"


def box(shown: Page) -> list[float]:
    text = shown.locator(".side:not([hidden])").get_attribute("viewBox") or ""
    return [float(part) for part in text.split()]


def settle(shown: Page) -> None:
    shown.evaluate(
        "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )


def open_all(shown: Page) -> None:
    shown.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    settle(shown)
    settle(shown)


def focused(shown: Page) -> str:
    return str(shown.evaluate("document.activeElement.dataset.number ?? ''"))


def test_tab_alone_reaches_everything_that_can_be_used(opened: Opener) -> None:
    shown = opened(page("rules/uncuttable-gap/bad"))
    open_all(shown)
    count = shown.evaluate(
        """(what) => {
            const shown = (one) => one.checkVisibility() && one.getClientRects().length;
            const all = [...document.querySelectorAll(what)].filter(shown);
            all.forEach((one, number) => { one.dataset.number = number; });
            return all.length;
        }""",
        TABBABLE,
    )

    reached = set()
    for _ in range(count + 2):
        shown.keyboard.press("Tab")
        reached.add(focused(shown))

    assert reached - {""} == {str(number) for number in range(count)}


def test_keys_move_zoom_and_turn_the_drawing(opened: Opener) -> None:
    shown = opened(page(TIDE))
    shown.locator(".view").focus()
    whole = box(shown)

    shown.keyboard.press("+")
    shown.keyboard.press("+")
    settle(shown)
    near = box(shown)
    shown.keyboard.press("ArrowRight")
    settle(shown)
    aside = box(shown)
    side = shown.locator(".side:not([hidden])").get_attribute("data-side")
    shown.keyboard.press("b")
    settle(shown)
    other = shown.locator(".side:not([hidden])").get_attribute("data-side")
    shown.keyboard.press("0")
    settle(shown)

    assert near[2] < whole[2] / 1.5
    assert aside[0] > near[0]
    assert {side, other} == {"top", "bottom"}
    assert box(shown)[2] == pytest.approx(whole[2])


def test_keys_go_from_mark_to_mark_and_on_to_the_row(opened: Opener) -> None:
    shown = opened(page(TIDE))
    shown.locator(".view").focus()

    shown.keyboard.press("n")
    first = shown.locator(".now").inner_text()
    shown.keyboard.press("n")
    second = shown.locator(".now").inner_text()
    shown.keyboard.press("Enter")

    assert first
    assert second
    row = shown.evaluate("document.activeElement.closest('li').id")
    assert row.startswith("f0-")
    assert shown.locator(f"[id='{row}']").inner_text()
    assert shown.locator(".places .lit").count() == 1


def test_a_row_leads_to_its_mark_and_the_mark_back_to_the_row(opened: Opener) -> None:
    shown = opened(page(TIDE))
    shown.locator(".cause details summary").nth(1).click()
    link = shown.locator(".cause").nth(1).locator("a.show").nth(3)
    row = link.evaluate("(one) => one.closest('li').id")

    link.click()
    settle(shown)
    chosen = shown.locator(".over .chosen").count()
    shown.locator(".now a").click()

    assert chosen == 2
    assert shown.evaluate("document.activeElement.closest('li').id") == row


def test_clicking_a_mark_shows_its_row(opened: Opener) -> None:
    shown = opened(page(TIDE))

    shown.locator(".over .sign").first.click()

    assert shown.locator(".places .lit").count() == 1


def test_all_places_of_a_cause_can_be_paged_through(opened: Opener) -> None:
    shown = opened(page(TIDE))
    cause = shown.locator(".cause").nth(1)
    cause.locator("summary").click()
    count = int(cause.locator("ol.places").get_attribute("data-count") or 0)
    cause.locator(".pager").wait_for()  # a list that opens is filled a moment later

    seen = set(cause.locator("li").evaluate_all("(rows) => rows.map((row) => row.id)"))
    while cause.locator(".pager .next:enabled").count():
        cause.locator(".pager .next").click()
        seen |= set(cause.locator("li").evaluate_all("(rows) => rows.map((row) => row.id)"))

    assert count > 100
    assert len(seen) == count


def test_layers_can_be_hidden(opened: Opener) -> None:
    shown = opened(page(TIDE))

    for layer in ("copper", "holes", "outline", "legend"):
        shown.locator(f"input[data-layer={layer}]").uncheck()

        assert shown.locator(f".side .{layer}:not([hidden])").count() == 0


def test_the_wheel_zooms_where_it_points_and_a_drag_moves(opened: Opener) -> None:
    shown = opened(page(TIDE))
    shown.locator(".view").scroll_into_view_if_needed()
    view = shown.locator(".view").bounding_box()
    assert view is not None
    x, y = view["x"] + view["width"] / 4, view["y"] + view["height"] / 4
    before = box(shown)

    shown.mouse.move(x, y)
    shown.mouse.wheel(0, -400)
    settle(shown)
    zoomed = box(shown)
    shown.mouse.down()
    shown.mouse.move(x + 60, y + 30, steps=4)
    shown.mouse.up()
    settle(shown)

    assert zoomed[2] < before[2]
    assert zoomed[0] + zoomed[2] / 4 == pytest.approx(
        before[0] + before[2] / 4, abs=before[2] / 200
    )
    assert box(shown)[0] == pytest.approx(zoomed[0] - 60 * zoomed[2] / view["width"], rel=0.1)


def test_two_fingers_zoom(opened: Opener) -> None:
    shown = opened(page(TIDE), has_touch=True, viewport={"width": 390, "height": 844})
    shown.locator(".view").scroll_into_view_if_needed()
    view = shown.locator(".view").bounding_box()
    assert view is not None
    x, y = view["x"] + view["width"] / 2, view["y"] + view["height"] / 2
    before = box(shown)
    session = shown.context.new_cdp_session(shown)

    def touch(kind: str, apart: float) -> None:
        fingers: list[dict[str, Any]] = [] if kind == "touchEnd" else [
            {"x": x - apart, "y": y, "id": 1}, {"x": x + apart, "y": y, "id": 2},
        ]  # fmt: skip
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": fingers})

    touch("touchStart", 20)
    for apart in (30, 40, 60, 80):
        touch("touchMove", apart)
    touch("touchEnd", 0)
    settle(shown)

    assert box(shown)[2] < before[2] / 2


@pytest.mark.parametrize(
    ("scheme", "width"),
    quick(
        [("light", 1280), ("light", 390), ("dark", 1280), ("dark", 390)],
        [("dark", 1280), ("light", 390)],
    ),
)
def test_an_accessibility_engine_finds_nothing_serious(
    opened: Opener, scheme: str, width: int
) -> None:
    shown = opened(page(TIDE), color_scheme=scheme, viewport={"width": width, "height": 900})
    open_all(shown)

    found = Axe().run(shown).response["violations"]

    assert [f"{one['id']}: {one['nodes'][0]['html'][:200]}" for one in found] == []


@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_is_wider_than_the_window(opened: Opener, width: int) -> None:
    shown = opened(page(TIDE), viewport={"width": width, "height": 900})

    assert shown.evaluate("document.documentElement.scrollWidth") <= width


def test_a_page_reads_without_script(opened: Opener) -> None:
    shown = opened(page(TIDE), java_script_enabled=False)

    assert shown.locator("h1").inner_text().startswith("Not makeable")
    assert shown.locator(".side").count() == 2
    assert shown.locator(".side").nth(1).is_visible()
    assert shown.locator(".printed a").first.is_visible()
    assert not shown.locator(".tools").is_visible()


def test_several_reports_all_come_alive(opened: Opener) -> None:
    from checker.engine import check, reach_for
    from checker.measure import measure
    from checker.process import load_profile
    from checker.report.html import html_page
    from tests.browser.pages import board_of

    board = board_of("rules/uncuttable-gap/bad")
    processes = [load_profile(name) for name in ("cone-30-0.1", "flat-0.4")]
    facts = measure(board, reach_for(processes))
    text = html_page([(check(board, one, facts=facts), facts) for one in processes], 1.0)

    shown = opened(text)
    shown.wait_for_selector("#report-1[data-ready]")
    shown.locator("#report-1 .view").focus()
    shown.keyboard.press("n")

    assert shown.locator("#report-1 .now").inner_text()
    assert shown.locator("#report-0 .now").inner_text() == ""
