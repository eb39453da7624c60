from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Hole, Kind, Outline, Part
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Joints
from checker.read import read_board
from tests.coppered import Drawn, coppered, disk, drilled, trace
from tests.handmade import PLAIN, on_board, seen
from tests.holed import holed, unchecked

NAME = "copper-under-screw"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
# ISO 7089 (plain washers), from memory: the washer of M3 is 7 mm wide; in a hole of 3.2 mm it
# reaches 1.9 mm beyond the edge.
WASHER = (7.0 - 3.2) / 2


def wanting(room: float | None) -> Process:
    return replace(PLAIN, joints=Joints(screw_room=room))


def rail(away: float, *holes: Hole, both: bool = False) -> Facts:
    """A hole of 3.2 mm at 10, 10 and a line that far from its edge, or one on either side of it."""
    edge = 1.6 + away + 0.25
    lines = [trace("A", 0.5, (0, 10 + edge), (20, 10 + edge))]
    lines += [trace("B", 0.5, (0, 10 - edge), (20, 10 - edge))] * both
    return coppered(*(holes or [drilled(10, 10, 3.2)]), top=lines)


@pytest.mark.parametrize(
    ("away", "caught"),
    [(1.89, True), (1.894, True), (1.896, False), (1.91, False)],
    ids=["below", "just below", "within the error of drawing", "above"],
)
def test_copper_under_a_washer_is_told(away: float, caught: bool) -> None:
    assert len(seen(NAME, rail(away), wanting(WASHER))) == caught


def test_one_net_is_a_remark_and_two_are_joined() -> None:
    assert [one.state for one in seen(NAME, rail(1.0), wanting(1.5))] == [State.REMARK]
    assert [one.state for one in seen(NAME, rail(1.0, both=True), wanting(1.5))] == [
        State.MARGINAL,
        State.MARGINAL,
    ]


@pytest.mark.parametrize(
    ("kind", "drill", "state"),
    [
        (Kind.POUR, (), State.REMARK),
        (Kind.TRACE, (), State.MARGINAL),
        (Kind.POUR, (drilled(2, 6.5, 0.8),), State.MARGINAL),
    ],
    ids=["of a pour alone", "of a trace", "with a lead"],
)
def test_a_piece_of_a_pour_that_joins_nothing_is_no_net(
    kind: Kind, drill: tuple[Hole, ...], state: State
) -> None:
    piece = [Drawn(shapely.box(0, 6, 20, 7), None, kind), trace(None, 0.2, (0.5, 6.5), (19, 6.5))]
    line = trace("A", 0.5, (0, 12.85), (20, 12.85))

    found = seen(NAME, coppered(drilled(10, 10, 3.2), *drill, top=[line, *piece]), wanting(1.5))

    assert [one.state for one in found] == [state] * 2


def test_each_board_of_a_panel_has_screws_of_its_own() -> None:
    lines = [trace("A", 0.5, (0, 12.85), (20, 12.85)), trace("B", 0.5, (30, 12.85), (50, 12.85))]
    panel = coppered(drilled(10, 10, 3.2), drilled(40, 10, 3.2), top=lines)
    area = shapely.MultiPolygon([shapely.box(0, 0, 20, 20), shapely.box(30, 0, 50, 20)])
    board = replace(panel.board, outline=Outline(area, "edge.gbr", ""))

    apart = [one.state for one in seen(NAME, on_board(panel, board), wanting(1.5))]

    assert apart == [State.REMARK] * 2
    assert [one.state for one in seen(NAME, panel, wanting(1.5))] == [State.MARGINAL] * 2


def test_the_message_tells_the_copper_and_the_way() -> None:
    (found,) = seen(NAME, rail(1.0), wanting(1.5))

    assert found.message == (
        "The trace A is 1.000 mm from a hole of 3.20 mm, a screw wants 1.500 mm"
    )
    assert found.remedy == "Move it 0.50 mm away, or use a nylon washer"
    assert [found.x, found.y] == pytest.approx([10, 12.6])
    assert found.side == "top"
    assert found.measured == pytest.approx(1.0)
    assert (found.limit, found.nets) == (1.5, ("A",))


def test_a_pour_that_the_hole_cuts_is_kept_off() -> None:
    pour = Drawn(shapely.box(0, 0, 20, 20), "GND", Kind.POUR)

    (found,) = seen(NAME, coppered(drilled(10, 10, 3.2, plated=False), top=[pour]), wanting(1.5))

    assert found.message == "The pour GND is cut by a hole of 3.20 mm, a screw wants 1.500 mm"
    assert found.remedy == "Keep the pour 3.10 mm farther off, or use a nylon washer"


@pytest.mark.parametrize(
    "hole",
    [
        drilled(10, 10, 1.9),
        drilled(10, 10, 6.6),
        drilled(10, 10, 3.2, plated=True),
        Hole(((9, 10), (11, 10)), 3.2, None, None, "holes.drl", 1),
    ],
    ids=["peg", "cut-out", "plated", "slot"],
)
def test_what_takes_no_screw_is_left_alone(hole: Hole) -> None:
    assert seen(NAME, rail(0.5, hole), wanting(1.5)) == []


def test_a_hole_with_a_pad_is_meant_to_touch() -> None:
    pad, line = Drawn(disk(10, 10, 6.0), "GND"), trace("A", 0.5, (0, 13.5), (20, 13.5))

    assert seen(NAME, coppered(drilled(10, 10, 3.2), top=[pad, line]), wanting(1.5)) == []


def test_a_hole_under_a_part_is_that_of_a_peg() -> None:
    facts = rail(0.5)
    part = Part("J1", "top", 10, 10, body=shapely.box(5, 5, 15, 15))

    assert seen(NAME, on_board(facts, replace(facts.board, parts=(part,))), wanting(1.5)) == []


def test_missing_limits_and_files_leave_it_unchecked() -> None:
    assert len(unchecked(NAME, rail(0.5), wanting(None))) == 1
    assert len(unchecked(NAME, holed(read=False), wanting(1.5))) == 1


def test_the_sample_tells_both_lines() -> None:
    found = [one.seen for one in check(read_board([BAD]), load_profile("cone-30-0.1")).findings]

    # Lines of 0.8 mm 2.6 mm from the middle of a hole of 3.2 mm: 2.6 - 1.6 - 0.4 = 0.6 mm.
    assert [one.x for one in found] == pytest.approx([20, 20])
    assert [one.y for one in found] == pytest.approx([7.8, 12.2])
    assert [one.measured for one in found] == [pytest.approx(0.6, abs=0.001)] * 2
