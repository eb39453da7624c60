from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Kind, Unchecked
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Joints
from checker.read import read_board
from tests.coppered import drilled
from tests.handmade import PLAIN, rule, seen
from tests.poured import board_with, facts_of, relieved

NAME = "solid-joint"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME


def heating(area: float | None) -> Process:
    return replace(PLAIN, joints=Joints(plane_area=area))


def solid(size: float) -> Facts:
    plane = shapely.box(0, 0, size, size)
    middle = size / 2
    pad = shapely.box(middle - 0.5, middle - 0.5, middle + 0.5, middle + 0.5)
    return facts_of(board_with([(Kind.POUR, plane, 0.0), (Kind.PAD, pad, 0.0)]))


@pytest.mark.parametrize(("size", "told"), [(9.9, 0), (10.1, 1)])
def test_copper_larger_than_an_iron_heats_is_told(size: float, told: int) -> None:
    # Common practice, from memory: an iron of 40 W hardly heats more than 1 cm2.
    found = seen(NAME, solid(size), heating(100.0))

    assert len(found) == told
    assert [one.state for one in found] == [State.REMARK] * told


def test_a_relief_keeps_the_heat() -> None:
    assert seen(NAME, facts_of(relieved(0.4, 0.5)), heating(100.0)) == []


def test_without_a_limit_it_says_so() -> None:
    (told,) = rule(NAME).check(solid(20.0), heating(None))

    assert isinstance(told, Unchecked)


def test_sample_is_told_at_its_ground_pads() -> None:
    findings = check(read_board([SAMPLE / "bad"]), load_profile("cone-30-0.1")).findings

    assert {pin for finding in findings for pin in finding.seen.pins} == {"J1.1", "C1.1"}
    assert all("442 mm2" in finding.seen.message for finding in findings)


@pytest.mark.parametrize(("hole", "told"), [(0.3, 0), (0.59, 0), (0.8, 1), (2.5, 0)])
def test_pads_about_holes_that_take_no_lead_are_those_of_vias_and_screws(
    hole: float, told: int
) -> None:
    # Leads are 0.4 mm thick or more, and want a hole of 0.6 mm; screws start at M2.
    board = replace(solid(20.0).board, holes=(drilled(10, 10, hole),))

    assert len(seen(NAME, facts_of(board), heating(100.0))) == told


def test_a_pad_drawn_in_parts_or_twice_is_told_once() -> None:
    plane, pad = shapely.box(0, 0, 20, 20), shapely.box(8, 8, 12, 12)
    parts = [shapely.box(x, y, x + 1, y + 1) for x in (8.5, 10.5) for y in (8.5, 10.5)]
    pads = [(Kind.PAD, shape, 0.0) for shape in (*parts, pad, pad)]

    (found,) = seen(NAME, facts_of(board_with([(Kind.POUR, plane, 0.0), *pads])), heating(100.0))

    assert (found.x, found.y) == (10, 10)


@pytest.mark.parametrize(("size", "told"), [(0.5, 0), (0.89, 0), (0.91, 1)])
def test_round_pads_too_small_for_a_lead_are_balls_or_vias(size: float, told: int) -> None:
    plane, ball = shapely.box(0, 0, 20, 20), shapely.Point(10, 10).buffer(size / 2, 32)
    board = board_with([(Kind.POUR, plane, 0.0), (Kind.PAD, ball, 0.0)])

    assert len(seen(NAME, facts_of(board), heating(100.0))) == told
