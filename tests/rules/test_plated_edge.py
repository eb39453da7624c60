from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Hole
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.shop import EdgeWork
from checker.read import read_board
from tests.coppered import Drawn, coppered, disk, drilled
from tests.handmade import PLAIN, seen
from tests.holed import holed, unchecked

NAME = "plated-edge"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
BOARD = shapely.box(0, 0, 20, 20)
PROCESS = replace(PLAIN, outline=EdgeWork(hole_clearance=0.5))


def half(x: float, plated: bool | None = True, pad: bool = True) -> Facts:
    """A hole of 1 mm about the left edge of a board, in a pad or bare."""
    copper = [Drawn(shapely.box(15, 0, 16, 20), "OTHER")]
    copper += [Drawn(disk(x, 10, 2.0), "NET")] * pad
    return coppered(drilled(x, 10, 1.0, plated), top=copper, outline=BOARD)


@pytest.mark.parametrize(
    ("x", "caught"),
    [(-0.51, False), (-0.4, True), (0.0, True), (0.49, True), (0.498, False), (0.6, False)],
    ids=["outside", "a sliver", "half", "just", "within the error of drawing", "inside"],
)
def test_a_plated_hole_that_the_outline_crosses_is_told(x: float, caught: bool) -> None:
    # Castellations are plated half holes at the edge (the term of module makers' data sheets).
    assert len(seen(NAME, half(x), PROCESS)) == caught


@pytest.mark.parametrize(
    ("plated", "pad", "caught"),
    [(True, False, True), (None, True, True), (None, False, False), (False, True, False)],
)
def test_it_has_to_be_plated_or_may_be(plated: bool | None, pad: bool, caught: bool) -> None:
    assert len(seen(NAME, half(0.0, plated, pad), PROCESS)) == caught


def test_the_message_tells_how_far_inwards() -> None:
    (found,) = seen(NAME, half(0.2), PROCESS)

    assert found.message == (
        "Plated hole of 1.00 mm crosses the edge by 0.300 mm, no hole is plated at home: NET"
    )
    assert found.remedy == "Move it 0.80 mm inwards and solder a wire over the edge"
    assert (found.x, found.y, found.state) == (0.2, 10, State.NOT_MAKEABLE)
    assert found.measured == pytest.approx(-0.3)
    assert found.limit == 0


def test_a_slot_that_is_in_the_outline_too_is_no_edge() -> None:
    slot = Hole(((9, 10), (11, 10)), 1.0, True, None, "holes.drl", 1)
    cut_out = shapely.LineString(slot.path).buffer(0.49)
    pad = Drawn(shapely.LineString(slot.path).buffer(1.0), "NET")

    assert seen(NAME, coppered(slot, top=[pad], outline=BOARD - cut_out), PROCESS) == []


def test_without_drills_or_outline_it_is_unchecked() -> None:
    assert len(unchecked(NAME, holed(read=False), PROCESS)) == 1
    assert len(unchecked(NAME, coppered(drilled(0, 10, 1.0), top=[Drawn(BOARD)]), PROCESS)) == 1


def test_the_sample_tells_the_hole() -> None:
    (found,) = [one.seen for one in check(read_board([BAD]), load_profile("cone-30-0.1")).findings]

    # A hole of 1 mm with its middle 0.2 mm beyond the edge at 30 mm reaches 0.7 mm over it.
    assert [found.x, found.y] == pytest.approx([30.2, 6])
    assert found.measured == pytest.approx(-0.7, abs=0.001)
