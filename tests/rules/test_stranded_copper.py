from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Kind, Unchecked
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import DEFAULT_PROFILE, load_profile
from checker.read import read_board
from tests.handmade import PLAIN, Copper, rule, seen
from tests.milled import MILLED, facts_of

NAME = "stranded-copper"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def window(room: float, net: str = "GND") -> Facts:
    """A frame round a square opening."""
    frame = shapely.box(-3, -3, 3, 3) - shapely.box(-room / 2, -room / 2, room / 2, room / 2)
    return facts_of([(Copper(Kind.TRACE, net), frame)])


@pytest.mark.parametrize("room", [1.0, 1.2, 1.4])
def test_a_crumb_is_what_the_bands_leave_of_a_window(room: float) -> None:
    (told,) = seen(NAME, window(room), MILLED)

    side = room - 2 * 0.35
    assert told.message == (
        f"Crumb of {side * side:.2f} mm2 of leftover copper, from 0.50 mm2 it holds, beside GND"
    )
    assert (told.x, told.y, told.state) == (0, 0, State.REMARK)
    assert told.nets == ("GND",)


# The root of 0.5 mm2 and twice 0.35 mm make 1.407 mm.
@pytest.mark.parametrize(("room", "caught"), [(0.69, 0), (1.395, 1), (1.42, 0)])
def test_crumbs_from_nothing_to_the_limit_are_told(room: float, caught: int) -> None:
    assert len(seen(NAME, window(room), MILLED)) == caught


def test_the_width_to_clear_leaves_no_crumb() -> None:
    (told,) = seen(NAME, window(1.3), MILLED)
    wide = float(told.remedy.split()[1])

    assert seen(NAME, window(1.3), replace(MILLED, cleared_width=wide)) == []


def test_a_crumb_is_never_told_as_large_as_what_holds() -> None:
    # (1.404 - 0.7)^2 = 0.4956 mm2, which rounds to the limit.
    (told,) = seen(NAME, window(1.404), MILLED)

    assert told.message.startswith("Crumb of 0.49 mm2 of leftover copper, from 0.50 mm2 it holds")


def test_what_is_as_small_as_dust_goes_with_the_chips() -> None:
    assert seen(NAME, window(0.79), MILLED) == []


def test_the_sheet_round_all_nets_is_not_told() -> None:
    assert seen(NAME, facts_of([(Copper(net="A"), shapely.box(-1, -1, 1, 1))]), MILLED) == []


def test_an_island_cut_off_from_a_pour_is_told_with_its_area() -> None:
    pour, island = shapely.box(-18, -18, 0, 18), shapely.box(2, 2, 5, 5)
    pad = shapely.box(-9, -9, -8, -8)
    facts = facts_of(
        [(Copper(Kind.POUR, "GND"), pour), (Copper(Kind.POUR), island), (Copper(), pad)]
    )
    facts.board.copper[0].island_of[2] = 0

    (told,) = seen(NAME, facts, MILLED)

    assert told.message == "Island of 9.0 mm2 of poured copper with no pad and no hole"
    assert told.remedy == "Leave islands below 10 mm2 out of the pour, or join them to it"
    assert (told.x, told.y) == (3.5, 3.5)


def test_etching_leaves_nothing_undrawn() -> None:
    etching = replace(PLAIN, method="etching")

    assert list(rule(NAME).check(window(1.2), etching)) == []


def test_without_a_least_area_crumbs_are_unchecked() -> None:
    answer = list(rule(NAME).check(window(1.2), replace(MILLED, smallest_leftover=None)))

    assert [type(one) for one in answer] == [Unchecked]


def test_the_sample_tells_the_crumb_in_its_window() -> None:
    (told,) = (
        one.seen for one in check(read_board([SAMPLE]), load_profile(DEFAULT_PROFILE)).findings
    )

    # 0.98 mm less 0.35 mm on each side.
    assert told.message.startswith("Crumb of 0.08 mm2")
    assert (told.x, told.y) == pytest.approx((15, 6), abs=1e-6)
