"""Copper too fine and dense to be measured is refused before anything is measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from checker.errors import ReadError
from checker.measure.boundary.segments import Segments
from checker.read import read_board
from checker.read.density import MOST, MOST_OF_RUN, NEAR, check_density, neighbours
from tests.examples import quick
from tests.layouts import layout
from tests.read.limited import read_within_limits
from tests.read.made import BOARDS, at, gerber, needs_boards, two_sided, write

if TYPE_CHECKING:
    from pathlib import Path

    from checker.board import Floats, Shapes

TOP = "b-F_Cu.gbr"


def dots(count: int, pitch: float, size: float, side: int = 316) -> str:
    """Round flashes on a square grid, drawn by repeats."""
    step = f"%SRX{side}Y{count // side}I{pitch}J{pitch}*%"
    return gerber(f"%ADD20C,{size}*%", step, "D20*X0Y0D03*", "%SR*%")


def squares(count: int, pitch: float, size: float) -> Shapes:
    k = np.arange(count)
    x, y = pitch * (k % 300), pitch * (k // 300)
    found: Shapes = shapely.box(x, y, x + size, y + size)
    return found


def test_very_many_dots_nearer_to_each_other_than_a_cutter_is_wide(tmp_path: Path) -> None:
    said = read_within_limits(write(tmp_path, two_sided() | {TOP: dots(31_600, 0.02, 0.01)}))

    assert said.startswith(f"{TOP}: copper so fine and dense that")
    assert said.endswith("check the unit and the number format of the file")


def test_a_thousand_dots_that_all_lie_within_reach_of_each_other(tmp_path: Path) -> None:
    said = read_within_limits(write(tmp_path, two_sided() | {TOP: dots(1024, 0.015, 0.01, 32)}))

    assert "pairs of straight stretches of its edge lie within 0.3 mm" in said


def test_very_long_lines_side_by_side_with_hairs_between(tmp_path: Path) -> None:
    lines = [f"X0Y{13_000 * k}D02*\nX100000000Y{13_000 * k}D01*" for k in range(30_000)]
    text = gerber("%ADD20C,0.007*%", "D20*G01*", *lines)

    assert "copper so fine and dense" in read_within_limits(
        write(tmp_path, two_sided() | {TOP: text})
    )


def test_very_long_lines_aslant_whose_boxes_all_overlap(tmp_path: Path) -> None:
    lines = [f"{at(0.2 * k, 0)}D02*\n{at(7000 + 0.2 * k, 7000)}D01*" for k in range(8_000)]
    files = two_sided() | {TOP: gerber("D11*G01*", *lines)}

    said = read_within_limits(write(tmp_path, files))

    assert said.startswith(f"{TOP}: long objects aslant beside each other without bound")


def test_inner_layers_are_not_measured_and_not_refused(tmp_path: Path) -> None:
    inner = dots(9_000, 0.02, 0.01, 100).replace(
        "%FSLA", "%TF.FileFunction,Copper,L2,Inr*%\n%FSLA", 1
    )

    board = read_board([write(tmp_path, two_sided() | {"b-In1_Cu.gbr": inner})])

    assert [layer.side for layer in board.copper] == ["top", "inner 1", "bottom"]


def ends_of(segments: Segments) -> tuple[Floats, Floats]:
    """(n, 2) lower and upper corners of the boxes of stretches, wider by half of `NEAR`."""
    low, high = np.minimum(segments.a, segments.b), np.maximum(segments.a, segments.b)
    return low - NEAR / 2, high + NEAR / 2


@pytest.mark.parametrize("family", ["ordinary", "combs", "dots"])
def test_pairs_of_few_stretches_are_counted_exactly(family: str) -> None:
    islands = np.array(layout(family, 4), dtype=object)
    low, high = ends_of(Segments.of(islands))
    both = (low[:, None] <= high[None]) & (low[None] <= high[:, None])

    assert neighbours(islands) == [both.all(axis=2).sum()]


def test_pairs_of_very_many_stretches_are_told_to_a_tenth() -> None:
    islands = squares(12_000, 0.2, 0.1)
    low, high = ends_of(Segments.of(islands))
    boxes = shapely.box(*low.T, *high.T)
    pairs = shapely.STRtree(boxes).query(boxes).shape[1]

    found = neighbours(islands)

    assert len(found) == 3  # 48 000 stretches
    assert sum(found) == pytest.approx(pairs, rel=0.1)


def test_one_dense_place_on_a_large_board_is_found() -> None:
    sparse = squares(100_000, 3.0, 1.0)
    dense = shapely.transform(squares(4_000, 0.012, 0.006), lambda points: points - 10)
    check_density(sparse, "top.gbr")

    with pytest.raises(ReadError, match="8 million at most"):
        check_density(np.concatenate([sparse, dense]), "top.gbr")


def test_nothing_is_not_dense() -> None:
    assert neighbours(np.array([], dtype=object)) == []
    check_density(np.array([], dtype=object), "top.gbr")


@needs_boards
@pytest.mark.parametrize(
    "name", quick(["openbci-cyton", "snark-barker", "microspora"], ["openbci-cyton"])
)
def test_open_boards_are_far_from_the_bounds(name: str) -> None:
    found = [neighbours(layer.islands) for layer in read_board([BOARDS / name]).copper]

    assert max(map(sum, found)) < MOST / 16
    assert max(map(max, found)) < MOST_OF_RUN / 5
