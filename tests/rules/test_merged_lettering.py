from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board, DrawnObjects, GraphicLayer, Hole, Kind
from checker.engine import check, reach_for
from checker.findings import State, Verdict
from checker.isolation import joined_nets, parts_nets, tightest
from checker.measure import Facts, measure
from checker.process import DEFAULT_PROFILE, load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.handmade import PLAIN, exactly, flat, seen
from tests.layouts import objects_of
from tests.poured import board_with

NAME = "merged-lettering"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
CUT = 0.2
MILLED = flat(CUT, exactly(0.09))
PEN = 0.4


def bar(x: float, y: float = 0.0) -> tuple[Kind, Any, float]:
    """A stroke upward, 2 mm long."""
    return Kind.TRACE, shapely.LineString([(x, y), (x, y + 2)]).buffer(PEN / 2), PEN


def bars(*gaps: float) -> Board:
    """Strokes beside each other, so far apart."""
    places = [0.0]
    for gap in gaps:
        places.append(places[-1] + PEN + gap)
    return board_with([bar(x) for x in places])


def facts_of(board: Board, process: Process = MILLED) -> Facts:
    return measure(board, reach_for(process))


@pytest.mark.parametrize(("gap", "told"), [(0.18, 1), (0.2, 0), (0.22, 0)])
def test_letters_nearer_than_the_cut_are_told(gap: float, told: int) -> None:
    assert len(seen(NAME, facts_of(bars(gap)), MILLED)) == told


def test_a_text_is_told_once_where_its_letters_are_nearest() -> None:
    (told,) = seen(NAME, facts_of(bars(0.15, 0.12, 0.3)), MILLED)

    assert told.message == (
        "Between letters or marks without a net a cut of 0.120 mm passes, the bit cuts 0.200 mm: "
        "they stay joined at 2 places, and no net with them"
    )
    assert told.remedy == "Move them 0.08 mm further apart, or leave them out of the copper"
    assert (told.state, told.side) == (State.MARGINAL, "top")
    assert (told.x, told.y) == pytest.approx((0.55 + 0.2 + 0.06, 1.0), abs=0.01)
    assert (told.measured, told.limit) == pytest.approx((0.12, 0.2), abs=1e-6)


def test_texts_far_from_each_other_are_told_each() -> None:
    board = board_with([bar(0), bar(0.5), bar(0, 20), bar(0.5, 20)])

    assert len(seen(NAME, facts_of(board), MILLED)) == 2


def test_letters_that_run_together_join_no_nets() -> None:
    facts = facts_of(bars(0.12))

    assert joined_nets(facts, MILLED).groups == []
    assert tightest(facts, MILLED).row is None


def test_a_letter_that_stays_joined_to_a_net_joins_it() -> None:
    pad = (Kind.PAD, shapely.box(0.3, 0, 1.3, 1), 0.0)
    facts = facts_of(board_with([bar(0), pad]))

    assert seen(NAME, facts, MILLED) == []
    assert len(joined_nets(facts, MILLED).groups) == 1


def test_letters_that_run_together_join_the_nets_at_their_ends() -> None:
    low, high = (Kind.PAD, shapely.box(-1.3, 0, -0.3, 1), 0.0), (
        Kind.PAD, shapely.box(0.82, 0, 1.82, 1), 0.0,
    )  # fmt: skip
    facts = facts_of(board_with([low, bar(0), bar(0.52), high]))

    (told,) = seen(NAME, facts, MILLED)

    assert joined_nets(facts, MILLED).groups == [[0, 1, 2, 3]]
    assert told.message.endswith("they stay joined at 1 place")


def test_of_letters_only_those_that_a_net_touches_are_of_its_group() -> None:
    pad = (Kind.PAD, shapely.box(-1.3, 0, -0.3, 1), 0.0)
    facts = facts_of(board_with([pad, bar(0), bar(0.52), bar(1.04)]))

    assert joined_nets(facts, MILLED).groups == [[0, 1]]


def mask(*openings: Any) -> GraphicLayer:
    drawn: DrawnObjects = objects_of(openings)
    return GraphicLayer("mask", "top", "mask.gbr", lambda: drawn)


@pytest.mark.parametrize(
    ("openings", "parted"),
    [
        ([], False),
        ([shapely.box(-0.3, -0.3, 0.26, 2.3), shapely.box(0.26, -0.3, 0.82, 2.3)], True),
        ([shapely.box(-1, -1, 2, 3)], False),
    ],
    ids=["none", "one for each", "one for all"],
)
def test_what_an_opening_of_the_mask_bares_by_itself_is_a_pad(
    openings: list[Any], parted: bool
) -> None:
    board = replace(
        bars(0.12), graphics=(mask(*openings),), holes=(Hole(((9, 9),), 1, None, None, "h", 1),)
    )
    facts = facts_of(board)

    assert parts_nets(board, 0, facts.gaps[0].islands).tolist() == [parted]


def test_without_a_cut_nothing_is_parted() -> None:
    assert seen(NAME, facts_of(bars(0.12)), replace(PLAIN, method="perfboard", cut=None)) == []


@given(st.lists(st.integers(5, 40), min_size=1, max_size=5))
def test_a_wider_cut_parts_no_more_letters(hundredths: list[int]) -> None:
    wide = flat(0.3, exactly(0.09))
    facts = facts_of(bars(*(gap / 100 for gap in hundredths)), wide)

    def places(process: Process) -> int:
        return sum(int(one.message.split(" place")[0].rpartition(" ")[2])
                   for one in seen(NAME, facts, process))  # fmt: skip

    assert places(MILLED) == sum(gap < 20 for gap in hundredths)
    assert places(wide) == sum(gap < 30 for gap in hundredths)


def test_the_sample_is_marginal_for_two_letters() -> None:
    report = check(read_board([SAMPLE]), load_profile(DEFAULT_PROFILE))

    (told,) = report.findings
    assert report.verdict is Verdict.MARGINAL
    # 0.12 mm between a round end and a straight side let a wider cut pass.
    assert told.seen.measured == pytest.approx(0.13, abs=0.01)
