from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.handmade import PLAIN, seen
from tests.holed import hit, holed, slot, unchecked

NAME = "thin-web"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def keeping(web: float | None) -> Process:
    return replace(PLAIN, web=web)


@pytest.mark.parametrize(
    ("web", "caught"),
    [(0.394, True), (0.396, False), (0.4, False), (0.41, False), (0.006, True), (0.004, False)],
    ids=["below", "within the error of drawing", "exactly", "above", "hardly any", "touching"],
)
def test_a_web_of_just_the_limit_passes(web: float, caught: bool) -> None:
    # 0.4 mm: "0.3 to 0.4 mm between two holes breaks out", common trade practice.
    board = holed(hit(10, 10, 1.0), hit(11 + web, 10, 1.0))

    assert [one.state for one in seen(NAME, board, keeping(0.4))] == [State.MARGINAL] * caught


def test_a_slot_counts_along_its_whole_length() -> None:
    (found,) = seen(NAME, holed(slot((10, 10), (20, 10), 1.0), hit(14, 11.2, 1.0)), keeping(0.4))

    assert found.measured == pytest.approx(0.2)
    assert (found.x, found.y) == pytest.approx((14.0, 10.6))


def test_the_message_tells_width_limit_and_remedy() -> None:
    (found,) = seen(NAME, holed(hit(10, 10, 1.0), hit(11.313, 10, 1.0)), keeping(0.4))

    assert found.message == "Laminate 0.313 mm wide between two holes, it stays from 0.400 mm"
    assert found.remedy == "Move them 0.09 mm apart"
    assert found.cause == "webs 0.31 mm wide between holes"
    assert found.limit == 0.4


def test_vias_and_holes_of_leads_are_causes_of_their_own() -> None:
    vias = [hit(10 + 0.5 * k, 10, 0.3, "ViaDrill") for k in range(2)]
    leads = [hit(20 + 1.1 * k, 10, 0.9, "ComponentDrill") for k in range(2)]

    assert {one.cause for one in seen(NAME, holed(*vias, *leads), keeping(0.4))} == {
        "webs 0.20 mm wide between vias",
        "webs 0.20 mm wide between holes for leads",
    }


@given(st.lists(st.floats(0.02, 2), min_size=1, max_size=6), st.floats(0.05, 3), st.floats(0.05, 3))
@settings(deadline=None)
def test_a_wider_limit_never_passes_more(webs: list[float], one: float, other: float) -> None:
    x, holes = 0.0, []
    for web in [0.0, *webs]:
        x += 1.0 + web
        holes.append(hit(x, 10, 1.0))
    low, high = sorted((one, other))

    assert {found.x for found in seen(NAME, holed(*holes), keeping(low))} <= {
        found.x for found in seen(NAME, holed(*holes), keeping(high))
    }


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    board = holed(hit(10, 10, 1.0))

    assert unchecked(NAME, board, keeping(None)) == [
        Unchecked("laminate between holes", "the profile sets no web")
    ]
    assert unchecked(NAME, holed(read=False), keeping(0.4)) == [
        Unchecked("laminate between holes", "no drill file")
    ]
    assert unchecked(NAME, board, keeping(0.4)) == []
    assert unchecked(NAME, holed(), keeping(0.4)) == []


def test_a_heap_of_holes_is_not_checked() -> None:
    heap = holed(*(hit(0.001 * (k % 30), 0.001 * (k // 30), 0.3) for k in range(900)))

    assert unchecked(NAME, heap, keeping(0.4)) == [
        Unchecked("laminate between holes", "too many holes lie within each other")
    ]


def test_the_bad_sample_tells_its_web() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # Two holes of 2.0 mm whose middles are 2.25 mm apart.
    assert found.seen.measured == pytest.approx(0.25)
    assert (found.seen.x, found.seen.y) == pytest.approx((14.125, 6.0))
