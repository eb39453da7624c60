from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Kind, Unchecked
from checker.engine import check
from checker.measure import Reach, measure
from checker.measure.copper.letters import carries_no_current
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.handmade import PLAIN, rule, seen
from tests.poured import board_with, facts_of

NAME = "fine-lettering"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME


def writing(stroke: float | None) -> Process:
    return replace(PLAIN, lettering=stroke)


def stroke(pen: float, *points: tuple[float, float]) -> tuple[Kind, Any, float]:
    return Kind.TRACE, shapely.LineString(points).buffer(pen / 2), pen


def named(board: Board, name: str) -> Board:
    (layer,) = board.copper
    return replace(board, copper=(replace(layer, net_name=(name,) * len(layer.islands)),))


H = [((0, 0), (0, 2)), ((1, 0), (1, 2)), ((0, 1), (1, 1))]


def letters(pen: float) -> Board:
    return board_with([stroke(pen, *line) for line in H])


@pytest.mark.parametrize(("pen", "told"), [(0.25, 1), (0.3, 0)])
def test_strokes_thinner_than_letters_are_told(pen: float, told: int) -> None:
    # Common practice: 0.3 mm.
    assert len(seen(NAME, facts_of(letters(pen)), writing(0.3))) == told


def test_letters_of_one_text_are_one_finding_in_its_middle() -> None:
    words = [stroke(0.2, *[(x + 1.5 * n, y) for x, y in line]) for n in range(4) for line in H]
    far = [stroke(0.2, *[(x + 20, y) for x, y in line]) for line in H]

    first, second = seen(NAME, facts_of(board_with(words + far)), writing(0.3))

    assert "4 pieces" in first.message
    assert "1 piece " in second.message
    assert (first.x, first.y) == pytest.approx((2.75, 1.0), abs=0.01)
    assert first.measured == 0.2


@pytest.mark.parametrize("name", ["GND", "SIGN"])
def test_copper_with_a_net_is_no_letter(name: str) -> None:
    assert seen(NAME, facts_of(named(letters(0.2), name)), writing(0.3)) == []


@pytest.mark.parametrize(("name", "lettered"), [("", True), ("GND", False)])
def test_letters_carry_no_current_and_copper_with_a_net_may(name: str, lettered: bool) -> None:
    assert carries_no_current(named(letters(0.2), name), 0).tolist() == [lettered]


@pytest.mark.parametrize("name", ["", "N/C"])
def test_names_that_name_no_net_do_not_count(name: str) -> None:
    # Gerber layer format, attribute .N: empty for no net, N/C for a lone pad.
    assert len(seen(NAME, facts_of(named(letters(0.2), name)), writing(0.3))) == 1


def test_copper_with_a_pad_or_a_hole_is_no_letter() -> None:
    pad = (Kind.PAD, shapely.box(-0.4, -0.4, 0.4, 0.4), 0.0)
    with_pad = board_with([*(stroke(0.2, *line) for line in H), pad])
    drilled = replace(letters(0.2), holes=(Hole(((0.0, 1.0),), 0.8, None, None, "h", 1),))

    assert seen(NAME, facts_of(with_pad), writing(0.3)) == []
    assert seen(NAME, facts_of(drilled), writing(0.3)) == []


def test_letters_are_not_told_as_thin_copper_too() -> None:
    board = board_with([stroke(0.15, *line) for line in H])
    facts = measure(board, Reach(0.1, 0.3))

    assert len(seen(NAME, facts, writing(0.3))) == 1
    assert seen("thin-copper", facts, replace(PLAIN, minimum_trace=0.25)) == []


def test_without_a_limit_it_says_so() -> None:
    (told,) = rule(NAME).check(facts_of(letters(0.2)), writing(None))

    assert isinstance(told, Unchecked)


def test_sample_is_told_in_the_middle_of_its_letters() -> None:
    findings = check(read_board([SAMPLE / "bad"]), load_profile("cone-30-0.1")).findings

    # Letters 3 mm high from y = 11 on, about 1.5 mm wide, at 11 and at 16, drawn with 0.15 mm.
    places = [(finding.seen.x, finding.seen.y) for finding in findings]
    assert places == [pytest.approx((x, 12.5), abs=0.3) for x in (11.75, 16.75)]
    assert {finding.seen.measured for finding in findings} == {0.15}


@pytest.mark.parametrize("tail", [[], [[(0, 0), (-6, 0), (-6, 9)]]], ids=["alone", "with a tail"])
def test_scraps_of_a_fill_drawn_with_a_pen_are_no_letters(
    tail: list[list[tuple[float, float]]],
) -> None:
    lines: list[list[tuple[float, float]]] = [[(0, 0.15 * k), (2, 0.15 * k)] for k in range(8)]
    scrap = [stroke(0.2, *line) for line in [*lines, *tail]]
    crumb = [stroke(0.2, (10, 0), (10.5, 0))]
    others = [stroke(0.25, *[(x + 30, y) for x, y in line]) for line in H]

    (found,) = seen(NAME, facts_of(board_with([*scrap, *crumb, *others])), writing(0.3))

    assert found.x == pytest.approx(30.5, abs=0.01)
