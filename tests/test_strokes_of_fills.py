"""Draws of fills and draws of traces, told apart on boards drawn for it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from checker.board import Kind
from checker.fills import fill_strokes
from checker.labels import kinds_of, labels_of
from checker.read import read_board
from tests.read.made import chain, gerber, write

PEN = 10  # 1 mm wide


def drawn(folder: Path, *lines: str) -> list[bool]:
    (layer,) = read_board([write(folder, {"a-F_Cu.gbr": gerber(*lines)})]).copper
    found: list[bool] = fill_strokes(layer).tolist()
    return found


def hatch(count: int, pitch: float) -> list[str]:
    return [chain((0, pitch * k), (20, pitch * k), pen=PEN) for k in range(count)]


def test_strokes_side_by_side_are_a_fill_with_their_border(tmp_path: Path) -> None:
    border = chain((0, 0), (20, 0), (20, 7.2), (0, 7.2), (0, 0), pen=PEN)

    assert drawn(tmp_path, *hatch(10, 0.8), border) == [True] * 11


@pytest.mark.parametrize(("count", "pitch"), [(1, 0.8), (8, 2.0)], ids=["alone", "apart"])
def test_strokes_with_laminate_on_both_sides_are_traces(
    tmp_path: Path, count: int, pitch: float
) -> None:
    assert drawn(tmp_path, *hatch(count, pitch)) == [False] * count


def test_a_trace_that_leaves_a_fill_or_crosses_another_is_none(tmp_path: Path) -> None:
    leaving, across = chain((10, 0), (10, -40), pen=PEN), chain((0, -20), (20, -20), pen=PEN)

    assert drawn(tmp_path, *hatch(10, 0.8), leaving, across) == [True] * 10 + [False] * 2


def test_a_short_bit_in_the_bend_of_a_trace_is_none(tmp_path: Path) -> None:
    bend = [((0, 0), (10, 0)), ((10, 0), (10.3, 0.3)), ((10.3, 0.3), (10.3, 10))]
    # A pen lifted and set down again draws three objects.
    strokes = [chain(*piece, pen=PEN) + "\nD11*\nD10*" for piece in bend]

    assert not any(drawn(tmp_path, *strokes))


def cleared_beside(*lines: str) -> list[str]:
    beside = [chain((0, y), (20, y), pen=PEN) for y in (-0.3, 1.9)]
    return [*lines, "%LPC*%", *beside, "%LPD*%"]


def test_a_stroke_of_a_fill_is_one_though_what_lay_beside_it_is_cleared(tmp_path: Path) -> None:
    found = drawn(tmp_path, *cleared_beside(*hatch(3, 0.8)))

    assert found[1]


def test_a_trace_is_none_where_the_laminate_beside_it_is_cleared(tmp_path: Path) -> None:
    trace = chain((0, 0.8), (20, 0.8), pen=PEN)

    assert not any(drawn(tmp_path, *cleared_beside(trace)))


def test_a_trace_in_a_fill_that_was_cleared_for_it_is_none(tmp_path: Path) -> None:
    clear = chain((0, 2.4), (20, 2.4), pen=PEN), chain((0, 3.2), (20, 3.2), pen=PEN)
    trace = chain((0, 2.8), (20, 2.8), pen=11)

    found = drawn(tmp_path, *hatch(8, 0.8), "%LPC*%", *clear, "%LPD*%", trace)

    assert not found[-1]


def test_a_fill_is_called_a_pour_whatever_drew_it(tmp_path: Path) -> None:
    board = read_board([write(tmp_path, {"a-F_Cu.gbr": gerber(*hatch(10, 0.8))})])
    (layer,) = board.copper

    assert set(layer.objects.kind.tolist()) == {Kind.TRACE}
    assert set(kinds_of(layer, np.arange(10)).tolist()) == {Kind.POUR}
    assert labels_of(board).standing(0, 0, 0) == "a pour"


def test_a_region_that_is_called_a_pin_is_a_pad(tmp_path: Path) -> None:
    # Gerber layer format 5.6: .P names the pin that a flash or a region is.
    shape = ["G36*", "X0Y0D02*", "X2000000Y0D01*", "X2000000Y3000000D01*", "X0Y0D01*", "G37*"]
    lines = [*shape, "%TO.P,U1,4*%", *(line.replace("X", "X9") for line in shape)]
    board = read_board([write(tmp_path, {"a-F_Cu.gbr": gerber(*lines)})])

    assert [labels_of(board).kind(0, row) for row in (0, 1)] == [Kind.POUR, Kind.PAD]
    assert labels_of(board).pin(0, 1) == "U1.4"
