"""The board's edge drawn as copper."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.findings import Observation, State
from checker.measure import Facts, Reach
from checker.read import read_board
from tests.handmade import PLAIN, rule
from tests.read.made import BOARDS, chain, gerber, needs_boards, pads, rectangle, write

NAME = "outline-in-copper"
SAMPLES = Path(__file__).parents[2] / "samples" / "rules" / NAME
ONE_MM = 10  # number of the pen of 1 mm


def files(*copper: str, edge: bool = True) -> dict[str, str]:
    """A board of 30 x 20 mm with two pads, and what else is drawn on its bottom."""
    made = {
        "b-B_Cu.gbr": gerber(pads((5, 5), (25, 15)), *copper, function="Copper,L1,Bot"),
        "b.drl": "M48\nMETRIC\nT1C0.8\n%\nT1\nX5.0Y5.0\nX25.0Y15.0\nM30\n",
    }
    profile = {"b-Edge.gbr": gerber(rectangle(0, 0, 30, 20), function="Profile,NP")}
    return made | profile if edge else made


def told(folder: Path, given: dict[str, str]) -> list[Observation | Unchecked]:
    board = read_board([write(folder, given)])
    return list(rule(NAME).check(Facts(board, Reach(), (), ()), PLAIN))


def ring(inset: float, pen: int = ONE_MM) -> str:
    corners = ((0, 0), (30, 0), (30, 20), (0, 20), (0, 0))
    return chain(*((min(max(x, inset), 30 - inset), min(max(y, inset), 20 - inset))
                   for x, y in corners), pen=pen)  # fmt: skip


def test_the_edge_drawn_with_a_pen_in_copper_is_told(tmp_path: Path) -> None:
    (one,) = told(tmp_path, files(ring(0.0)))

    assert isinstance(one, Observation)
    assert one.message == (
        "Copper line 1.00 mm wide along 100 % of the board's edge, "
        "its middle at most 0.000 mm from it"
    )
    assert one.remedy.startswith("Export the bottom without the board's edge")
    assert (one.side, one.state) == ("bottom", State.MARGINAL)
    assert one.x is not None
    assert one.y is not None
    assert min(one.x % 30, one.y % 20) == pytest.approx(0.0, abs=1e-6)


def test_the_place_is_halfway_along_the_line(tmp_path: Path) -> None:
    # Drawn round from 0, 0: half of 100 mm is at the far corner.
    (one,) = told(tmp_path, files(ring(0.0)))

    assert isinstance(one, Observation)
    assert (one.x, one.y) == pytest.approx((30.0, 20.0))


# Half the pen is 0.5 mm: from there on the line lies inside the edge, as a guard ring does.
@pytest.mark.parametrize(("inset", "caught"), [(0.49, True), (0.5, False), (0.6, False)])
def test_a_line_inside_the_edge_is_a_guard_ring(tmp_path: Path, inset: float, caught: bool) -> None:
    assert bool(told(tmp_path, files(ring(inset)))) is caught


# Three of the four sides are 0.7 or 0.8 of the edge.
@pytest.mark.parametrize(
    ("corners", "caught"),
    [
        (((0, 4), (0, 0), (30, 0), (30, 20), (0, 20), (0, 8)), True),
        (((0, 0), (30, 0), (30, 20), (0, 20)), False),
        (((0, 0), (30, 0)), False),
    ],
    ids=["an opening", "three sides", "one side"],
)
def test_a_line_along_a_part_of_the_edge_is_not_it(
    tmp_path: Path, corners: tuple[tuple[float, float], ...], caught: bool
) -> None:
    assert bool(told(tmp_path, files(chain(*corners, pen=ONE_MM)))) is caught


def test_a_pour_up_to_the_edge_is_not_it(tmp_path: Path) -> None:
    region = "G36*\n" + rectangle(0, 0, 30, 20).replace("D11*\n", "") + "\nG37*"

    assert told(tmp_path, files(region)) == []


def test_a_trace_that_runs_off_the_edge_is_not_it(tmp_path: Path) -> None:
    assert told(tmp_path, files(chain((5, 5), (0, 5), (0, 15), (5, 15), pen=ONE_MM))) == []


def test_without_an_edge_it_is_unchecked(tmp_path: Path) -> None:
    found = told(tmp_path, files(ring(0.0), edge=False))

    assert found == [Unchecked("the edge drawn in copper", "the board's edge is not known")]


@needs_boards
def test_an_open_board_with_its_edge_in_both_copper_layers() -> None:
    board = read_board([BOARDS / "hotpi"])

    found = list(rule(NAME).check(Facts(board, Reach(), (), ()), PLAIN))

    assert [(one.side, one.message[:25]) for one in found if isinstance(one, Observation)] == [
        ("top", "Copper line 0.30 mm wide "),
        ("bottom", "Copper line 0.30 mm wide "),
    ]


def test_the_sample_has_a_line_of_three_tenths() -> None:
    board = read_board([SAMPLES / "bad"])

    (one,) = rule(NAME).check(Facts(board, Reach(), (), ()), PLAIN)

    assert isinstance(one, Observation)
    assert one.message.startswith("Copper line 0.30 mm wide along 100 %")
    assert one.x in (0.0, 60.0) or one.y in (0.0, 24.0)
