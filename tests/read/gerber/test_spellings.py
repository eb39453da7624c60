"""One random board written in different ways is one image."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct

from checker.read.gerber import TOLERANCE, flatten, parse_gerber
from tests.built import built

# Lengths are whole numbers of 1/100 inch, which are exact in every format below.
STEP = 0.254
Place = tuple[int, int]
coordinate = st.integers(-99, 99)
place = st.tuples(coordinate, coordinate)


class Board(Struct, frozen=True):
    """Flashes (place, pen), chains of draws, triangles, quarter arcs (centre, radius)."""

    flashes: list[tuple[Place, int]]
    chains: list[list[Place]]
    triangles: list[tuple[Place, Place, Place]]
    arcs: list[tuple[Place, int]]


boards = built(
    Board,
    st.lists(st.tuples(place, st.sampled_from([10, 11, 12])), max_size=5),
    st.lists(st.lists(place, min_size=2, max_size=4), max_size=3),
    st.lists(st.tuples(place, place, place), max_size=2),
    st.lists(st.tuples(place, st.integers(1, 20)), max_size=2),
)


class Spelling(Struct, frozen=True):
    """How a board is written."""

    inch: bool
    digits: tuple[int, int]
    zeros: str
    modal: bool
    chained: bool
    incremental: bool
    single_quadrant: bool

    def number(self, value: int) -> str:
        whole, decimals = self.digits
        scaled = round(abs(value) * (0.01 if self.inch else STEP) * 10**decimals)
        text = str(scaled).rjust(whole + decimals, "0")
        text = (text.lstrip("0") if self.zeros == "L" else text.rstrip("0")) or "0"
        return ("-" if value < 0 else "") + text

    def length(self, value: int) -> str:
        return f"{value * (0.01 if self.inch else STEP):.6f}"


spellings = built(
    Spelling,
    st.booleans(),
    st.sampled_from([(3, 4), (3, 5), (4, 6), (6, 6)]),
    st.sampled_from(["L", "T"]),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.booleans(),
)
PLAIN = Spelling(False, (4, 6), "L", False, True, False, False)


class Writer:
    """Writes Gerber words; knows where the pen is and what was said last."""

    def __init__(self, spelling: Spelling) -> None:
        s = self.s = spelling
        unit, notation = ("IN" if s.inch else "MM"), ("I" if s.incremental else "A")
        digits = "".join(map(str, s.digits))
        self.words = [f"%FS{s.zeros}{notation}X{digits}Y{digits}*MO{unit}*%"]
        self.words += [f"G{74 if s.single_quadrant else 75}*"]
        self.words += [f"%ADD10C,{s.length(8)}*%", f"%ADD11R,{s.length(9)}X{s.length(5)}*%"]
        self.words += [f"%ADD12O,{s.length(12)}X{s.length(6)}*%", f"%ADD13C,{s.length(3)}*%"]
        self.at = (0, 0)
        self.operation = ""

    def operate(self, to: Place, operation: str, offset: Place | None = None) -> None:
        base = self.at if self.s.incremental else (0, 0)
        word = ""
        for letter, value, was, zero in zip("XY", to, self.at, base, strict=True):
            if not self.s.modal or value != was:
                word += letter + self.s.number(value - zero)
        if offset is not None:
            if self.s.single_quadrant:
                offset = (abs(offset[0]), abs(offset[1]))
            word += f"I{self.s.number(offset[0])}J{self.s.number(offset[1])}"
        if not (self.s.modal and operation == self.operation and word):
            word += operation
        self.words.append(word + "*")
        self.at, self.operation = to, operation

    def board(self, board: Board) -> Writer:
        for at, pen in board.flashes:
            self.words.append(f"D{pen}*")
            self.operate(at, "D03")
        self.words.append("D13*")
        for chain in board.chains:
            if self.s.chained:
                self.operate(chain[0], "D02")
                for to in chain[1:]:
                    self.operate(to, "D01")
            else:
                for start, end in reversed(list(pairwise(chain))):
                    self.operate(end, "D02")
                    self.operate(start, "D01")
        for centre, radius in board.arcs:
            self.operate((centre[0] + radius, centre[1]), "D02")
            self.words.append("G03*")
            self.operate((centre[0], centre[1] + radius), "D01", (-radius, 0))
            self.words.append("G01*")
        for triangle in board.triangles:
            self.words.append("G36*")
            self.operate(triangle[0], "D02")
            for to in (*triangle[1:], triangle[0]):
                self.operate(to, "D01")
            self.words.append("G37*")
        return self

    def text(self) -> str:
        return "\n".join([*self.words, "M02*"])


def drawn(text: str) -> Any:
    """The image and its area."""
    islands, _ = flatten(parse_gerber(text, "layer").objects)
    return shapely.union_all(islands)


def same(one: Any, other: Any) -> bool:
    """Two images, equal but for chords and slivers."""
    difference = shapely.symmetric_difference(one, other)
    close = math.isclose(one.area, other.area, rel_tol=1e-3, abs_tol=1e-3)
    return close and bool(difference.buffer(-2 * TOLERANCE).is_empty)


@settings(max_examples=30, deadline=None)
@given(boards, spellings)
def test_one_board_in_another_spelling_is_the_same_image(board: Board, spelling: Spelling) -> None:
    plain = drawn(Writer(PLAIN).board(board).text())

    assert same(drawn(Writer(spelling).board(board).text()), plain)


@settings(max_examples=15, deadline=None)
@given(boards, st.integers(1, 3), st.integers(1, 3), place)
def test_step_and_repeat_is_the_same_as_copies(
    board: Board, across: int, up: int, step: tuple[int, int]
) -> None:
    once = Writer(PLAIN).board(board)
    head, body = once.words[:6], once.words[6:]
    i, j = (PLAIN.length(value) for value in step)
    repeated = "\n".join([*head, f"%SRX{across}Y{up}I{i}J{j}*%", *body, "%SR*%", "M02*"])
    copies = Writer(PLAIN)
    for m in range(across):
        for n in range(up):
            copies.board(moved(board, m * step[0], n * step[1]))

    assert same(drawn(repeated), drawn(copies.text()))


def moved(board: Board, dx: int, dy: int) -> Board:
    """The board moved by whole steps."""

    def shift(p: Place) -> Place:
        return (p[0] + dx, p[1] + dy)

    return Board(
        [(shift(p), pen) for p, pen in board.flashes],
        [[shift(p) for p in chain] for chain in board.chains],
        [(shift(a), shift(b), shift(c)) for a, b, c in board.triangles],
        [(shift(centre), radius) for centre, radius in board.arcs],
    )


@settings(max_examples=15, deadline=None)
@given(boards, place)
def test_moved_coordinates_move_the_image(board: Board, by: tuple[int, int]) -> None:
    here = drawn(Writer(PLAIN).board(board).text())
    there = drawn(Writer(PLAIN).board(moved(board, *by)).text())

    back = shapely.transform(there, lambda xy: xy - np.array(by) * STEP)
    assert same(back, here)


@settings(max_examples=15, deadline=None)
@given(boards, st.sampled_from([30, 45, 90, 180, 270, 317.5]), st.booleans(), st.booleans())
def test_turned_block_is_the_turned_image(
    board: Board, degrees: float, mirrored: bool, clear: bool
) -> None:
    once = Writer(PLAIN).board(board)
    head, body = once.words[:6], once.words[6:]
    block = [*head, "%ABD99*%", *body, "%AB*%"]
    plate = ["%ADD98R,200X200*%", "D98*", "X0Y0D03*", "%LPC*%"] if clear else []
    turn = [f"%LR{degrees}*%", "%LMX*%" if mirrored else "%LMN*%", "D99*", "X0Y0D03*", "M02*"]

    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    mirror = np.diag([-1 if mirrored else 1, 1])
    matrix = np.array([[c, -s], [s, c]]) @ mirror
    true = shapely.transform(drawn(once.text()), lambda xy: xy @ matrix.T)
    if clear:
        true = shapely.difference(shapely.box(-100, -100, 100, 100), true)
    assert same(drawn("\n".join([*block, *plate, *turn])), true)


@settings(max_examples=15, deadline=None)
@given(boards, st.sampled_from([0, 90, 180, 270]))
def test_image_rotation_turns_the_image(board: Board, degrees: float) -> None:
    text = Writer(PLAIN).board(board).text()
    c, s = round(math.cos(math.radians(degrees))), round(math.sin(math.radians(degrees)))

    true = shapely.transform(drawn(text), lambda xy: xy @ np.array([[c, s], [-s, c]]))
    assert same(drawn(f"%IR{degrees}*%\n{text}"), true)


@given(st.integers(1, 400), st.integers(1, 400))
def test_stroked_circle_has_the_area_of_its_ring(radius: int, width: int) -> None:
    r, w = radius * STEP, width * STEP
    circle = f"X{round(r * 1e6)}Y0D02*G75*G03X{round(r * 1e6)}Y0I-{round(r * 1e6)}J0D01*"
    ring = drawn(f"%FSLAX46Y46*MOMM*ADD10C,{w}*%D10*{circle}M02*")

    inner = max(r - w / 2, 0)
    true = math.pi * ((r + w / 2) ** 2 - inner**2)
    boundary = 2 * math.pi * (r + w / 2 + inner)
    assert ring.area == pytest.approx(true, abs=boundary * TOLERANCE)
