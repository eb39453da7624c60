from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.board import Kind
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.bit import Spread
from checker.read import read_board
from tests.handmade import PLAIN, cutting, rule, seen
from tests.poured import board_with, facts_of, relieved

NAME = "lost-relief"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME


@pytest.mark.parametrize(("slot", "told"), [(0.17, 1), (0.23, 0)])
def test_slot_narrower_than_the_cut_is_told(slot: float, told: int) -> None:
    found = seen(NAME, facts_of(relieved(slot, 0.5)), cutting(0.2))

    assert len(found) == told
    assert [one.state for one in found] == [State.MARGINAL] * told


def test_place_measure_limit_and_remedy() -> None:
    process = replace(PLAIN, cut=Spread(0.18, 0.2, 0.26))

    (told,) = seen(NAME, facts_of(relieved(0.15, 0.5)), process)

    assert (told.x, told.y) == pytest.approx((0, 0), abs=0.01)
    assert told.measured == pytest.approx(0.15, abs=0.01)
    assert told.limit == 0.2
    assert told.remedy == "Set the relief's gap to 0.26 mm"


def test_a_clearance_round_a_pad_that_nothing_joins_is_no_relief() -> None:
    assert seen(NAME, facts_of(relieved(0.17, 0.0)), cutting(0.2)) == []


def wedge(share: float) -> shapely.Polygon:
    """That share of a disc of 10 mm about the origin, the middle of its arc to the left."""
    turns = np.pi + np.pi * share * np.linspace(-1, 1, 257)
    return shapely.Polygon([(0, 0), *(10 * np.column_stack([np.cos(turns), np.sin(turns)]))])


PAD, SLOTTED = (shapely.Point(0, 0).buffer(radius, 64) for radius in (0.8, 0.95))


@pytest.mark.parametrize(("share", "told"), [(0.15, 0), (0.2, 0), (0.3, 1), (0.4, 1)])
def test_a_pad_that_is_joined_to_its_pour_nearly_all_round_has_no_relief(
    share: float, told: int
) -> None:
    # A quarter of the edge is to face the pour; the rest of it is joined.
    pour = shapely.box(-9, -9, 9, 9) - ((SLOTTED - PAD) & wedge(share))
    board = board_with([(Kind.PAD, PAD, 0.0), (Kind.POUR, pour, 0.0)])

    assert len(seen(NAME, facts_of(board), cutting(0.2))) == told


@pytest.mark.parametrize(("share", "told"), [(0.5, 0), (0.65, 0), (0.85, 1)])
def test_a_pad_that_stands_beside_its_pour_has_no_relief(share: float, told: int) -> None:
    # Three quarters of the edge are to face the pour or be joined to it; here one spoke does that.
    pour = wedge(share) - SLOTTED | shapely.box(-1.2, -0.25, 0, 0.25)
    board = board_with([(Kind.PAD, PAD, 0.0), (Kind.POUR, pour, 0.0)])

    assert len(seen(NAME, facts_of(board), cutting(0.2))) == told


def test_a_process_that_cuts_nothing_opens_no_slot() -> None:
    process = replace(PLAIN, cut=None, method="perfboard")

    assert list(rule(NAME).check(facts_of(relieved(0.15, 0.5)), process)) == []


def test_sample_is_told_at_its_ground_pads() -> None:
    findings = check(read_board([SAMPLE / "bad"]), load_profile("cone-30-0.1")).findings

    assert {pin for finding in findings for pin in finding.seen.pins} == {"J1.1", "C1.1"}
    assert [f.seen.measured for f in findings] == pytest.approx([0.15] * 2, abs=0.01)
