from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Kind
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Drills, Machine, Stock
from checker.read import read_board
from tests.coppered import Drawn, coppered, disk, drilled, trace
from tests.handmade import flat, seen, spread
from tests.holed import holed, unchecked

NAME = "foreign-copper-at-hole"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
PASSES = trace("LINE", 0.4, (0, 12), (20, 12))  # its lower edge is at y = 11.8


def milling(clad: int | None = None, cleared: float | None = None) -> Process:
    return replace(
        flat(0.2, spread(0.1, 0.0)),
        machine=Machine(registration=0.05),
        drills=Drills(wander=0.03),
        stock=Stock(clad_sides=clad),
        cleared_width=cleared,
    )


def lead(y: float, pad_on_top: bool = False, size: float = 1.0) -> Facts:
    """A lead with a pad below; on the top a line passes at 11.8."""
    pad = Drawn(disk(10, y, size + 0.6), "LEAD", pin="J1.1")
    top = [PASSES, pad] if pad_on_top else [PASSES]
    return coppered(drilled(10, y, size), top=top, bottom=[pad, _below()])


def _below() -> Drawn:
    return trace("LINE", 0.4, (0, 0), (20, 0))


@pytest.mark.parametrize(
    ("y", "states"),
    [
        (11.5, [State.NOT_MAKEABLE]),
        (11.28, [State.MARGINAL]),
        (11.226, [State.MARGINAL]),
        (11.224, []),
        (11.0, []),
    ],
    ids=["cuts", "touches if off", "just below", "within the error", "clear"],
)
def test_copper_nearer_than_the_hole_may_lie_off(y: float, states: list[State]) -> None:
    # 0.05 + 0.03 = 0.08 mm less what can't be told apart, 0.005 mm.
    assert [one.state for one in seen(NAME, lead(y), milling())] == states


def test_the_message_tells_what_is_cut_and_how_far() -> None:
    (found,) = seen(NAME, lead(11.5), milling())

    assert found.message == (
        "Hole of 1.00 mm cuts 0.200 mm into the trace LINE, may not at all: J1.1 (LEAD)"
    )
    assert found.remedy == "Move it 0.28 mm away"
    assert [found.x, found.y] == pytest.approx([10, 11.8])
    assert found.side == "top"
    assert (found.nets, found.pins) == (("LEAD", "LINE"), ("J1.1",))


def test_copper_beyond_a_ring_of_its_own_is_left_to_the_ring() -> None:
    near = coppered(
        drilled(10, 10, 1.0),
        top=[Drawn(disk(10, 10, 1.04), "LEAD"), trace("LINE", 0.4, (0, 10.76), (20, 10.76))],
    )

    assert seen(NAME, near, milling()) == []


def test_a_peg_in_a_pour_is_not_told() -> None:
    peg = drilled(10, 10, 1.0, plated=False)
    pour = coppered(peg, top=[Drawn(shapely.box(0, 0, 20, 20), "GND", Kind.POUR)])

    assert seen(NAME, pour, milling()) == []


def peg(cut: float, width: float = 0.5, size: float = 1.0, far: float = 20) -> Facts:
    """A bare hole at 10, 10 whose rim reaches so far into a trace above it."""
    y = 10 + size / 2 - cut + width / 2
    line = trace("LINE", width, (0, y), (far, y))
    return coppered(drilled(10, 10, size, function="MechanicalDrill"), top=[line])


@pytest.mark.parametrize(
    ("cut", "state"),
    [
        (0.1, State.MARGINAL),
        (0.299, State.MARGINAL),
        (0.31, State.NOT_MAKEABLE),
        (0.45, State.NOT_MAKEABLE),
        (0.55, State.NOT_MAKEABLE),
    ],
    ids=["a little", "just enough is left", "too little", "far too little", "nothing"],
)
def test_what_a_peg_leaves_of_a_trace_decides(cut: float, state: State) -> None:
    # Of 0.5 mm at least 0.2 mm have to stay.
    (found,) = seen(NAME, peg(cut), replace(milling(), minimum_trace=0.2))

    assert found.state is state


def test_what_is_left_of_the_trace_is_told() -> None:
    (found,) = seen(NAME, peg(0.35), replace(milling(), minimum_trace=0.2))

    assert found.message == (
        "Hole of 1.00 mm leaves 0.150 mm of the trace LINE, copper survives from 0.200 mm"
    )
    assert found.measured == pytest.approx(0.15, abs=0.002)
    assert found.limit == 0.2
    assert found.remedy == "Move it 0.35 mm away"


def test_a_trace_cut_in_two_is_told_so_and_the_way_out_of_it() -> None:
    # The middle of the hole is in a trace of 0.6 mm, 0.2 mm from its lower edge.
    (found,) = seen(NAME, peg(0.7, width=0.6), milling())

    assert found.message == (
        "Hole of 1.00 mm cuts in two the trace LINE, copper survives from 0.200 mm"
    )
    assert found.remedy == "Move it 0.70 mm away"


def test_a_screw_through_a_trace_is_told_and_one_that_leaves_enough_is_not() -> None:
    assert [one.state for one in seen(NAME, peg(0.4, size=3.2), milling())] == [State.NOT_MAKEABLE]
    assert seen(NAME, peg(0.1, size=3.2), milling()) == []


def test_a_trace_that_ends_at_the_peg_is_not_parted() -> None:
    (found,) = seen(NAME, peg(0.45, far=10.1), milling())

    assert found.state is State.MARGINAL


def test_a_trace_that_is_parted_from_a_pad_beside_the_peg_is_told() -> None:
    line = trace("LINE", 0.5, (0, 10.3), (11.0, 10.3))
    pad = Drawn(disk(11.2, 10.3, 0.8), "LINE", pin="U1.1")

    (found,) = seen(NAME, coppered(drilled(10, 10, 1.0, plated=False), top=[line, pad]), milling())

    assert found.state is State.NOT_MAKEABLE


def test_a_trace_that_is_too_thin_anyway_is_not_the_pegs_fault() -> None:
    line = [trace("LINE", 0.15, (0, 11), (20, 11)), trace("LINE", 1.2, (10, 11), (10.1, 11))]
    board = coppered(drilled(10, 10, 1.0, plated=False), top=line)

    (found,) = seen(NAME, board, milling())

    assert found.state is State.MARGINAL


def sheet(*nets: str, opening: bool = False) -> Facts:
    """Leads with pads only below; on the top nothing but copper far away, or a pour about them."""
    places = [(5.0 + 8 * k, 10.0) for k in range(len(nets))]
    pour = shapely.box(-10, 0, 60, 20)
    for x, y in places:
        pour -= disk(x, y, 1.8)
    far = shapely.box(0, 40, 10, 41)
    return coppered(
        *(drilled(x, y, 1.0) for x, y in places),
        top=[Drawn(pour if opening else far, "GND", Kind.POUR)],
        bottom=[Drawn(disk(x, y, 2.0), net) for (x, y), net in zip(places, nets, strict=True)],
    )


def test_leads_of_several_nets_in_one_undrawn_sheet_are_told_each() -> None:
    found = seen(NAME, sheet("A", "B", "B"), milling())

    assert [(one.x, one.side, one.state) for one in found] == [
        (5, "top", State.MARGINAL),
        (13, "top", State.MARGINAL),
        (21, "top", State.MARGINAL),
    ]
    assert {one.remedy for one in found} == {
        "Countersink it with a drill of 2.00 mm, or draw a pad on the top side"
    }
    assert len({one.cause for one in found}) == 1


@pytest.mark.parametrize(
    "board",
    [sheet("A"), sheet("A", "A"), sheet("A", "B", opening=True)],
    ids=["one lead", "one net", "each in an opening of its own"],
)
def test_leads_that_share_no_sheet_with_another_net_pass(board: Facts) -> None:
    assert seen(NAME, board, milling()) == []


@pytest.mark.parametrize(("cleared", "told"), [(0.3, 3), (0.5, 0)], ids=["narrow", "wide"])
def test_copper_that_is_cleared_all_round_the_rim_is_no_sheet(cleared: float, told: int) -> None:
    # Rims of holes of 1 mm in openings of 1.8 mm, with a slot out of them, are 0.4 mm from copper.
    pour = shapely.box(-10, 0, 60, 20) - shapely.box(0, 9.9, 60, 10.1)
    for x in (5, 13, 21):
        pour -= disk(x, 10, 1.8)
    board = coppered(
        *(drilled(x, 10, 1.0) for x in (5, 13, 21)),
        top=[Drawn(pour, "GND", Kind.POUR)],
        bottom=[Drawn(disk(x, 10, 2.0), f"N{x}") for x in (5, 13, 21)],
    )

    assert len(seen(NAME, board, milling(cleared=cleared))) == told


def test_etching_leaves_no_undrawn_copper() -> None:
    assert seen(NAME, sheet("A", "B"), replace(milling(), method="etching", bit=None)) == []


def test_the_second_side_of_the_blank_is_one_fault_of_the_board() -> None:
    pads = [Drawn(disk(x, 10, 2.0), net) for x, net in ((0, "A"), (10, "A"), (20, "B"))]
    holes = [drilled(x, 10, 1.0) for x in (0, 10, 20)] + [drilled(30, 10, 3.2)]
    board = coppered(*holes, bottom=pads)

    (found,) = seen(NAME, board, milling(clad=2))

    assert found.message == (
        "3 leads and wires of 2 nets pass the copper of the top side, which nothing cuts"
    )
    assert (found.state, found.side, found.x) == (State.NOT_MAKEABLE, "top", None)
    assert found.nets == ("A", "B")
    assert seen(NAME, board, milling(clad=1)) == seen(NAME, board, milling()) == []


def test_holes_for_screws_and_holes_of_no_net_are_no_leads_on_the_second_side() -> None:
    pads = [Drawn(disk(x, 10, 2.0), net) for x, net in ((0, "A"), (10, "B"))]
    screw = Drawn(disk(30, 10, 6.0), "EARTH")
    holes = [drilled(0, 10, 1.0), drilled(10, 10, 1.0), drilled(20, 10, 0.8)]
    board = coppered(
        *holes, drilled(30, 10, 3.2, function="MechanicalDrill"), bottom=[*pads, screw]
    )

    (found,) = seen(NAME, board, milling(clad=2))

    assert found.message.startswith("2 leads and wires of 2 nets")
    assert found.nets == ("A", "B")


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert len(unchecked(NAME, holed(read=False), milling())) == 1


def test_the_sample_tells_the_place() -> None:
    (found,) = [one.seen for one in check(read_board([BAD]), load_profile("cone-30-0.1")).findings]

    # The post's hole of 1 mm is at 20, 12.95; the line's upper edge is at 12.4.
    assert [found.x, found.y] == pytest.approx([20, 12.4])
    assert found.side == "top"
    assert found.measured == pytest.approx(0.05, abs=0.001)
