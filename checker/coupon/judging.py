"""The coupon as a board, as its own files tell it: what a check says of it, how long it takes."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.coupon.layers import layers
from checker.findings import State
from checker.methods import MILLING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.board import Board
    from checker.coupon.model import Cell, Coupon
    from checker.findings import Report
    from checker.process.model import Process

    Failing = Mapping[tuple[str, str], float | None]

_CUTTER = "cutter"
_MIN_PER_H = 60
_ON = 0.01  # mm by which a place may lie beside the gap or trace that it speaks of


class Minutes(Struct, frozen=True):
    """How long a coupon takes at the machine; None where the profile does not say.

    Attributes:
        coupon: all that is measured: probing, grooves, one pass round the copper, holes.
        outline: to cut it out of the blank, which no reading needs.
    """

    coupon: float | None
    outline: float | None


def board_of(coupon: Coupon) -> Board:
    """What a reader of boards makes of the coupon's files."""
    from checker.read import read_board

    with TemporaryDirectory() as folder:
        for name, text in layers(coupon).items():
            (Path(folder) / name).write_text(text, encoding="utf-8", newline="\n")
        return replace(read_board([folder]), name=f"coupon for {coupon.process.name}")


def predicted(coupon: Coupon, report: Report) -> Failing:
    """For each comb the widest width that fails by what a check says of the coupon.

    A gap fails where it stays closed, a trace where it does not survive.

    Args:
        coupon: the one that was judged.
        report: of its board, by its own process or by another.

    Returns:
        ("gaps" or "traces", "x" or "y") -> width in mm, None where none fails.
    """
    places = [
        (finding.seen.x, finding.seen.y)
        for finding in report.findings
        if finding.seen.state is State.NOT_MAKEABLE and finding.seen.side == "top"
    ]
    failing: dict[tuple[str, str], float | None] = {}
    for cell in coupon.cells:
        key = cell.what, cell.across
        worst = failing.setdefault(key, None)
        if any(_in(cell, *place) for place in places):
            failing[key] = max(worst or 0.0, cell.width)
    return failing


def _in(cell: Cell, x: float | None, y: float | None) -> bool:
    if x is None or y is None:
        return False
    left, low, right, top = cell.box
    return left - _ON <= x <= right + _ON and low - _ON <= y <= top + _ON


def minutes_of(coupon: Coupon, board: Board) -> Minutes:
    """How long the coupon takes, at the feeds of its process.

    The surface is probed once: the second side holds nothing but targets, which may be cut deep.
    """
    from checker.work import isolation, work_of

    process = replace(coupon.process, cleared_width=None)  # one pass, as the sheet says
    one_side = replace(board, copper=board.copper[:1])
    without = work_of(replace(one_side, outline=None), process).machine_minutes
    whole = work_of(one_side, process).machine_minutes
    parts = [without, _of_strokes(coupon, process)]
    for layer in board.copper[1:]:
        work = isolation(replace(board, copper=(layer,)), process)
        parts.append(None if work is None else work.minutes)
    known = [part for part in parts if part is not None]
    outline = None if whole is None or without is None else whole - without
    return Minutes(sum(known) if len(known) == len(parts) else None, outline)


def _of_strokes(coupon: Coupon, process: Process) -> float | None:
    feeds, lifts = process.feeds, len(coupon.strokes) if process.method == MILLING else 0
    if feeds.cut is None or (lifts and feeds.lift is None):
        return None if coupon.strokes else 0.0
    way = sum(math.dist(a, b) for one in coupon.strokes for a, b in pairwise(one.points))
    return way / feeds.cut + lifts * (feeds.lift or 0.0) * _MIN_PER_H
