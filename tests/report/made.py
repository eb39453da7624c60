"""A tiny board, its facts and a report on it, made by hand so that every number is known.

Two squares of 1 mm on the top, 0.25 mm apart; one of them again on the bottom; a round hole and a
slot. The nets of the top bear names that try to do harm.
"""

from __future__ import annotations

import numpy as np
import shapely
from msgspec.structs import replace

from checker.board import Board, CopperLayer, DrawnObjects, Hole, Note, Unchecked
from checker.findings import Cause, Finding, Observation, Report, State, Verdict
from checker.measure.facts import Facts, Gaps, Necks, Reach
from checker.process.bit import Bit, Spread
from checker.process.model import Process
from checker.severity import Severity
from checker.summary import summary_of

EVIL = (
    "[bold]A\x1b[31m\nB\u202e"  # rich markup, an escape sequence, a new line, a turn of direction
)


def objects(count: int) -> DrawnObjects:
    none = np.full(count, -1, dtype=np.int64)
    boxes = np.array([shapely.box(1.25 * i, 0, 1.25 * i + 1, 1) for i in range(count)])
    return DrawnObjects(
        shape=boxes,
        spine=shapely.centroid(boxes),
        pen=np.zeros(count),
        dark=np.ones(count, dtype=bool),
        kind=np.zeros(count, dtype=np.int8),
        function=none,
        net=none,
        component=np.zeros(count, dtype=np.int64),
        pin=np.arange(1, count + 1, dtype=np.int64),
        line=np.ones(count, dtype=np.int64),
        names=("U1", "1", "2"),
    )


def layer(side: str, names: tuple[str | None, ...]) -> CopperLayer:
    drawn = objects(len(names))
    return CopperLayer(
        side=side,
        source=f"{side}.gbr",
        objects=drawn,
        islands=drawn.shape,
        net=np.arange(len(names), dtype=np.int64),
        net_name=names,
        island_of=np.arange(len(names), dtype=np.int64),
    )


def board(name: str = "tiny", nets: tuple[str | None, ...] = ("GND", None)) -> Board:
    return Board(
        name=name,
        sources=(("top.gbr", "top"), ("bottom.gbr", "bottom"), ("read.me", "not used")),
        copper=(layer("top", nets), layer("bottom", nets[:1])),
        holes=(
            Hole(((0.5, 0.5),), 0.8, True, None, "holes.drl", 7),
            Hole(((3.0, 0.0), (3.0, 2.0)), 1.0, None, None, "holes.drl", 9),
        ),
        notes=(Note("top.gbr", 3, "unknown code ignored"),),
    )


def no_gaps() -> Gaps:
    return Gaps(
        islands=np.empty((0, 2), dtype=np.int64),
        a=np.empty((0, 2)),
        b=np.empty((0, 2)),
        distance=np.empty(0),
        widest_cut={0.0: np.empty(0)},
        object_a=np.empty(0, dtype=np.int64),
        object_b=np.empty(0, dtype=np.int64),
        part=np.empty((0, 2, 2)),
        part_of=np.empty(0, dtype=np.int64),
        reach=0.5,
        error=0.001,
    )


def necks(widths: tuple[float, ...] = ()) -> Necks:
    count = len(widths)
    return Necks(
        island=np.zeros(count, dtype=np.int64),
        at=np.full((count, 2), 0.5),
        width=np.array(widths, dtype=float),
        length=np.full(count, 0.2),
        carries=np.ones(count, dtype=bool),
        object=np.zeros(count, dtype=np.int64),
        reach=0.5,
        error=0.001,
    )


def facts(board: Board) -> Facts:
    """One gap of 0.25 mm whose widest cut is known, one that is wider than the reach."""
    gaps = Gaps(
        islands=np.array([[0, 1], [0, 1]]),
        a=np.array([[1.0, 0.5], [1.0, 0.9]]),
        b=np.array([[1.25, 0.5], [1.25, 0.9]]),
        distance=np.array([0.25, 0.25]),
        widest_cut={0.0: np.array([0.25004, np.inf])},
        object_a=np.array([0, -1]),
        object_b=np.array([1, -1]),
        part=np.array([[[1.125, 0.5], [1.125, 0.5]], [[1.125, 0.9], [1.125, 0.9]]]),
        part_of=np.array([0, 1]),
        reach=0.5,
        error=0.001,
    )
    return Facts(board, Reach(0.5, 0.5), (gaps, no_gaps()), (necks((0.12345678,)), necks()))


def facts_without_the_bottom(board: Board) -> Facts:
    """As if the bottom were out of reach."""
    both = facts(board)
    passed_over = replace(no_gaps(), reach=0.0)
    return Facts(both.board, both.reach, (both.gaps[0], passed_over), both.necks)


def process(**changes: object) -> Process:
    still = Spread(0.0, 0.0, 0.0)
    values: dict[str, object] = {
        "name": "cone",
        "source": "cone.yaml",
        "method": "milling",
        "title": "a cone",
        "bit": Bit("cone", Spread(0.1, 0.1, 0.1), 30.0, still, 3.175, still, still),
        "cut": Spread(0.25, 0.3, 0.35),
        "measured": False,
        "foil": Spread(0.035, 0.035, 0.035),
        "bed_error": 0.02,
        "minimum_trace": 0.2,
        "short_neck": 1.0,
        "pad_clearance": None,
        "layer_count": 2,
        "bite": 0.0,
        "limits_from": {"minimum_trace": "a table"},
        "resolved": {"method": "milling", "bit": {"shape": "cone", "angle": 30.0}, "web": None},
    }
    return Process(**{**values, **changes})  # type: ignore[arg-type] # a test names real fields


def finding(number: int, **changes: object) -> Finding:
    values: dict[str, object] = {
        "message": "Gap 0.250 mm, cut 0.300 mm, between U1.1 and U1.2",
        "remedy": "widen the gap to 0.300 mm",
        "cause": "gap 0.25 mm between pads of U1",
        "state": State.NOT_MAKEABLE,
        "measured": 0.25,
        "limit": 0.3,
        "side": "top",
        "x": 1.125,
        "y": 0.5,
        "nets": ("GND", "VCC"),
        "pins": ("U1.1", "U1.2"),
    }
    seen = Observation(**{**values, **changes})  # type: ignore[arg-type] # as above
    return Finding(f"uncuttable-gap-{number}", "uncuttable-gap", Severity.ERROR, seen)


def report(
    board: Board, findings: tuple[Finding, ...] = (), unchecked: tuple[Unchecked, ...] = ()
) -> Report:
    """A report that makes one cause of all the findings."""
    causes: tuple[Cause, ...] = ()
    if findings:
        seen = findings[0].seen
        cause = Cause(
            seen.cause, findings[0].rule, Severity.ERROR, seen.state, seen.remedy, findings
        )
        causes = (cause,)
    return Report(
        board=summary_of(board),
        process=process(),
        verdict=Verdict.NOT_MAKEABLE if findings else Verdict.MAKEABLE,
        findings=findings,
        causes=causes,
        unchecked=unchecked,
        joined=(("top", ("GND", "VCC")),) if findings else (),
        counts={"gaps": 2, "holes": 2},
    )
