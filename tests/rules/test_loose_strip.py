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

NAME = "loose-strip"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def bars(gap: float, long: float = 6.0) -> Facts:
    """Two bars beside each other."""
    low = shapely.box(-long / 2, -1 - gap / 2, long / 2, -gap / 2)
    high = shapely.box(-long / 2, gap / 2, long / 2, 1 + gap / 2)
    return facts_of([(Copper(Kind.TRACE, "A"), low), (Copper(Kind.TRACE, "B"), high)])


@pytest.mark.parametrize("gap", [0.75, 0.85, 0.94])
def test_what_is_left_of_a_gap_is_less_by_both_cleared_widths(gap: float) -> None:
    (told,) = seen(NAME, bars(gap), MILLED)

    assert told.measured == pytest.approx(gap - 2 * 0.35, abs=0.002)
    assert (told.limit, told.state, told.nets) == (0.25, State.REMARK, ("A", "B"))
    assert (told.x, told.y) == pytest.approx((0, 0), abs=1e-6)


@pytest.mark.parametrize(
    ("gap", "caught"),
    [(0.69, False), (0.70, True), (0.944, True), (0.948, False), (0.956, False)],
    ids=["passes overlap", "passes touch", "below the limit", "within the error", "above it"],
)
def test_strips_from_nothing_to_the_limit_are_told(gap: float, caught: bool) -> None:
    assert len(seen(NAME, bars(gap), MILLED)) == caught


def test_passes_that_only_touch_leave_a_hair() -> None:
    (told,) = seen(NAME, bars(0.7), MILLED)

    assert told.measured == 0
    assert told.message.startswith("Hair of leftover copper less than 0.005 mm wide over 6.")
    assert told.cause == "hairs and spikes of leftover copper"  # not "strips 0.00 mm wide"


# Between the arcs round the bars' corners it is narrow over 0.32 mm more: 2 x 0.35 mm x
# acos(0.425 / 0.475). Each of the two ends holds 1 mm.
@pytest.mark.parametrize(("long", "caught"), [(1.6, False), (1.8, True)])
def test_a_strip_that_its_two_ends_hold_is_not_told(long: float, caught: bool) -> None:
    assert len(seen(NAME, bars(0.85, long), MILLED)) == caught


@pytest.mark.parametrize("gap", [0.75, 0.85, 0.94])
def test_the_width_to_clear_leaves_nothing(gap: float) -> None:
    (told,) = seen(NAME, bars(gap), MILLED)
    wide = float(told.remedy.split()[1])

    assert gap / 2 < wide < gap / 2 + 0.02
    assert seen(NAME, bars(gap), replace(MILLED, cleared_width=wide)) == []


def test_a_single_wide_cut_clears_as_well_as_passes_do() -> None:
    assert seen(NAME, bars(0.85), replace(MILLED, cleared_width=0.45)) == []
    assert len(seen(NAME, bars(0.6), replace(MILLED, cleared_width=None))) == 1


def test_a_strip_that_is_longer_by_less_than_the_error_of_its_length_is_not_told() -> None:
    # 1.69 + 0.324 mm long, its ends hold 2 mm, lengths are known to 0.05 mm.
    assert seen(NAME, bars(0.85, 1.69), MILLED) == []


def test_a_strip_that_nothing_holds_is_told_from_the_length_of_one_end() -> None:
    # 0.5 x 0.15 mm are left amid a pour; where every crumb counts its length alone decides.
    frame = shapely.box(-3, -3, 3, 3) - shapely.box(-0.6, -0.425, 0.6, 0.425)
    crumb, every = facts_of([(Copper(Kind.POUR), frame)]), replace(MILLED, smallest_leftover=None)

    assert seen(NAME, crumb, every) == []
    (told,) = seen(NAME, crumb, replace(every, short_neck=0.3))
    assert "loose at both ends" in told.message


def test_a_crumb_is_no_strip() -> None:
    frame = shapely.box(-3, -3, 3, 3) - shapely.box(-0.6, -0.425, 0.6, 0.425)

    assert seen(NAME, facts_of([(Copper(Kind.POUR), frame)]), MILLED) == []


@pytest.mark.parametrize(("smallest", "told"), [(0.5, 0), (0.19, 0), (0.16, 1), (None, 1)])
def test_a_crumb_as_long_as_a_strip_falls_out_all_the_same(
    smallest: float | None, told: int
) -> None:
    # 1.2 x 0.15 mm are left amid a pour, 0.18 mm2.
    frame = shapely.box(-3, -3, 3, 3) - shapely.box(-0.95, -0.425, 0.95, 0.425)
    process = replace(MILLED, smallest_leftover=smallest)

    assert len(seen(NAME, facts_of([(Copper(Kind.POUR), frame)]), process)) == told


def test_a_strip_along_the_edge_goes_with_the_cutter() -> None:
    whole = shapely.box(-19.5, -19.5, 19.5, 19.5)

    assert seen(NAME, facts_of([(Copper(Kind.POUR), whole)]), MILLED) == []


def test_etching_leaves_nothing_undrawn() -> None:
    etching = replace(PLAIN, method="etching", minimum_trace=None)

    assert list(rule(NAME).check(bars(0.85), etching)) == []


def test_without_a_least_width_strips_are_unchecked() -> None:
    answer = list(rule(NAME).check(bars(0.85), replace(MILLED, minimum_trace=None)))

    assert [type(one) for one in answer] == [Unchecked]


def test_the_sample_tells_the_strip_between_its_lines() -> None:
    (told,) = (
        one.seen for one in check(read_board([SAMPLE]), load_profile(DEFAULT_PROFILE)).findings
    )

    assert told.message.startswith("Strip of leftover copper 0.200 mm wide over 12.")
    assert told.remedy == "Clear 0.46 mm there instead of 0.35 mm"
    assert (told.x, told.y) == pytest.approx((15, 9), abs=1e-6)
    assert (told.side, told.nets) == ("bottom", ("IN", "OUT"))
