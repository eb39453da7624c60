from __future__ import annotations

import re
from collections import Counter

import numpy as np
import pytest
from playwright.sync_api import Page

from checker.isolation import Fate, fates
from checker.process import load_profile
from checker.process.vary import at_depth, at_width
from checker.report.html.left import left_on
from checker.report.html.settings import scale_of
from tests.browser.conftest import Opener
from tests.browser.pages import board_of, judged, judged_anew, page

TIDE, GAP = "boards/tide-logger", "rules/uncuttable-gap/bad"


def slide(shown: Page, index: int) -> None:
    shown.evaluate(
        """(index) => {
            const range = document.querySelector(".setting input[type=range]");
            range.value = index;
            range.dispatchEvent(new Event("input", {bubbles: true}));
        }""",
        index,
    )


def told(shown: Page) -> dict[Fate, int]:
    """The number of gaps with each fate but the open ones, as the page says it."""
    lines = {
        Fate(int(line.get_attribute("data-fate") or 0)): line.inner_text()
        for line in shown.locator(".fates li[data-fate]").all()
    }
    return {fate: int(re.findall(r"\d+", text)[0]) for fate, text in lines.items() if fate}


def rules_here(shown: Page) -> Counter[str]:
    rows = shown.locator("details.rules tbody tr").all()
    return Counter(
        {
            row.get_attribute("data-rule") or "": int(row.locator("td").nth(1).inner_text())
            for row in rows
        }
    )


def groups_here(shown: Page) -> set[tuple[str, frozenset[str]]]:
    found = set()
    for line in shown.locator("details.nets li").all():
        side, names = line.inner_text().removeprefix("Show").strip().split(": ", 1)
        found.add((side, frozenset(names.split("; "))))
    return found


@pytest.mark.parametrize("settings", [4, pytest.param(30, marks=pytest.mark.long)])
@pytest.mark.parametrize(
    ("name", "profile"),
    [
        pytest.param(TIDE, "cone-30-0.1", marks=pytest.mark.long),
        (GAP, "cone-60-0.2"),
        (GAP, "flat-0.4"),
        ("rules/tight-gap/bad", "laser"),
        ("rules/eaten-copper/bad", "etch"),
    ],
)
def test_every_setting_says_what_the_command_says(
    opened: Opener, name: str, profile: str, settings: int
) -> None:
    process = load_profile(profile)
    scale = scale_of(process)
    assert scale is not None
    shown = opened(page(name, profile))
    set_to = at_depth if scale.what == "depth" else at_width

    for index in (
        np.unique(np.linspace(0, len(scale.values) - 1, settings).round()).astype(int).tolist()
    ):
        slide(shown, index)
        shown.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")

        report, facts = judged_anew(name, set_to(process, scale.values[index]))
        counted = Counter(
            np.concatenate([one.fate for one in fates(facts, report.process)]).tolist()
        )
        assert told(shown) == {fate: counted[fate] for fate in Fate if fate}
        assert f"{scale.values[index]:.3f} mm" in shown.locator(".readout .value").inner_text()
        verdict = shown.locator(".verdict-here .state").inner_text()
        assert verdict.lower().replace(" ", "-") == report.verdict.value
        assert +rules_here(shown) == Counter(found.rule for found in report.findings)
        assert groups_here(shown) == {(side, frozenset(nets)) for side, nets in report.joined}


def test_necks_are_what_the_widest_cut_leaves_of_them(opened: Opener) -> None:
    process = load_profile("cone-30-0.1")
    scale = scale_of(process)
    assert scale is not None
    shown = opened(page(TIDE))
    _, facts = judged(TIDE, "cone-30-0.1")

    for index in (0, 10, 21):
        slide(shown, index)

        cut = scale.processes[index].cut
        assert cut is not None
        assert process.minimum_trace is not None
        left = [necks.width[necks.carries] - (cut.most - cut.nominal) for necks in facts.necks]
        expected = int((np.concatenate(left) < process.minimum_trace).sum())
        line = shown.locator(".fates li[data-necks]")
        assert line.get_attribute("data-necks") == str(expected)


def test_marks_are_the_gaps_that_do_not_open(opened: Opener) -> None:
    shown = opened(page(TIDE))
    slide(shown, 0)

    marks = shown.evaluate("document.querySelectorAll('.over .sign').length")
    slide(shown, 21)
    more = shown.evaluate("document.querySelectorAll('.over .sign').length")

    assert marks > 0
    assert more > 0
    numbers = sum(told(shown).values())
    assert numbers > 200


def test_the_profiles_own_setting_shows_the_findings_again(opened: Opener) -> None:
    shown = opened(page(TIDE))
    before = shown.locator(".over .sign text").all_inner_texts()

    slide(shown, 0)
    shown.get_by_role("button", name="Back to the profile's").click()

    shown.wait_for_function("document.querySelector('.own-here')")
    shown.wait_for_function(
        "(count) => document.querySelectorAll('.over .sign text').length === count",
        arg=len(before),
    )
    assert shown.locator(".over .sign text").all_inner_texts() == before


def test_the_disc_in_a_crop_is_as_wide_as_the_cut(opened: Opener) -> None:
    shown = opened(page(TIDE))
    process = load_profile("cone-30-0.1")
    scale = scale_of(process)
    assert scale is not None

    slide(shown, 3)

    cut = scale.processes[3].cut
    assert cut is not None
    disc = shown.locator(".crop svg.gap .cutter").first
    assert float(disc.get_attribute("r") or 0) == pytest.approx(500 * cut.nominal)
    said = shown.locator(".crop svg.gap .dimension.cut text").first.text_content()
    assert said == f"cut {cut.nominal:.3f}"


def test_the_window_of_depths_is_marked(opened: Opener) -> None:
    shown = opened(page("boards/coop-door"))

    assert shown.locator(".gauge .sure").count() == 1
    assert shown.locator(".gauge .nominal").count() == 1


def painted(shown: Page) -> float:
    """mm2 that the page's script fills with copper that stays, of what is in view."""
    shown.wait_for_selector(".view canvas:not([hidden])")
    share = shown.evaluate(
        """() => {
            const canvas = document.querySelector(".view canvas");
            const {width, height} = canvas;
            const {data} = canvas.getContext("2d").getImageData(0, 0, width, height);
            return data.filter((value, i) => i % 4 === 3 && value).length / (width * height);
        }"""
    )
    box = shown.locator(".side:not([hidden])").get_attribute("viewBox") or ""
    wide, high = (float(part) / 1000 for part in box.split()[2:])
    return float(share) * wide * high


def test_copper_left_after_the_cut_is_drawn_at_every_setting(opened: Opener) -> None:
    shown = opened(page(TIDE))
    board, scale = board_of(TIDE), scale_of(load_profile("cone-30-0.1"))
    assert scale is not None

    shown.get_by_role("button", name="Top").click()
    shown.get_by_role("button", name="After the cut").click()
    exact = shown.locator(".side:not([hidden]) .left:not([hidden])").count()
    slide(shown, 0)

    assert exact == 1
    left = left_on(board, board.copper[0], scale.processes[0])
    assert left is not None
    # A cut is a pixel or two wide here: each edge is off by half of one at most.
    assert painted(shown) == pytest.approx(left.area, rel=0.05)


def test_crops_show_what_stays_at_the_setting(opened: Opener) -> None:
    shown = opened(page(TIDE))
    crop = shown.locator(".crop svg.gap").first

    slide(shown, 3)
    shown.wait_for_selector(".crop svg.gap .stays-here")
    hatched = crop.locator(".stays").is_visible()
    shown.get_by_role("button", name="Back to the profile's").click()

    assert not hatched
    assert crop.locator(".stays-here").count() == 0
    assert crop.locator(".stays").is_visible()
