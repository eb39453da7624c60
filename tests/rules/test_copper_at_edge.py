from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Kind, Unchecked
from checker.engine import check
from checker.findings import State
from checker.measure import Facts, Reach
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, cutting_out, edged, unchecked
from tests.handmade import Copper, seen
from tests.holed import hit
from tests.read.made import chain, gerber, rectangle, write

NAME = "copper-at-edge"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def keeping(clearance: float | None) -> Process:
    return cutting_out(edge_clearance=clearance)


def pad(off: float, size: float = 1.0) -> shapely.Polygon:
    """A pad so far from the lower edge."""
    return shapely.box(10.0, off, 10.0 + size, off + size)


@pytest.mark.parametrize(
    ("off", "caught"),
    [(0.494, True), (0.496, False), (0.5, False), (0.6, False), (0.0, True)],
    ids=["below", "within the error of drawing", "exactly", "above", "on the edge"],
)
def test_copper_at_just_the_clearance_passes(off: float, caught: bool) -> None:
    # 0.5 mm: "0.5 to 1 mm at home", common trade practice.
    found = seen(NAME, edged(BOX, [pad(off)]), keeping(0.5))

    assert [one.state for one in found] == [State.MARGINAL] * caught


def test_the_message_tells_distance_limit_and_remedy() -> None:
    copper = (Copper(Kind.PAD, "VCC", "J1", "2"), pad(0.213))

    (found,) = seen(NAME, edged(BOX, [copper]), keeping(0.5))

    assert found.message == "Pad 0.213 mm from the edge, copper stays from 0.500 mm inside: J1.2"
    assert found.remedy == "Pull it back by 0.29 mm"
    assert found.cause == "pads 0.21 mm from the edge"
    assert (found.side, found.nets, found.pins) == ("top", ("VCC",), ("J1.2",))
    assert found.measured == pytest.approx(0.213)
    assert (found.x, found.y) == pytest.approx((10.5, 0.213))


@pytest.mark.parametrize(
    ("off", "lies"),
    [
        (0.006, "Pad 0.006 mm from the edge"),
        (0.0026, "Pad right on the edge"),
        (0.0, "Pad right on the edge"),
        (-0.0026, "Pad right on the edge"),
        (-0.006, "Pad 0.006 mm over the edge"),
    ],
)
def test_within_the_error_of_drawing_copper_lies_on_the_edge(off: float, lies: str) -> None:
    (found,) = seen(NAME, edged(BOX, [pad(off)]), keeping(0.5))

    assert found.message == f"{lies}, copper stays from 0.500 mm inside"
    assert found.cause == lies.replace("Pad", "pads").replace("0.006", "0.01")
    assert found.measured == pytest.approx(off, abs=1e-6)


@pytest.mark.parametrize(
    ("piece", "kind", "state", "over"),
    [
        (pad(-0.3), Kind.PAD, State.MARGINAL, 0.3),
        (pad(-0.7), Kind.PAD, State.NOT_MAKEABLE, 0.7),
        (shapely.box(5, -0.4, 25, 10), Kind.POUR, State.MARGINAL, 0.4),
        (shapely.LineString([(5, 9), (5, -1), (9, -1), (9, 9)]).buffer(0.2), Kind.TRACE,
         State.NOT_MAKEABLE, 1.2),
    ],
    ids=["rim of a pad", "most of a pad", "rim of a pour", "a track that leaves the board"],
)  # fmt: skip
def test_copper_over_the_edge_is_lost_where_it_is_cut(
    piece: shapely.Polygon, kind: Kind, state: State, over: float
) -> None:
    (found,) = seen(NAME, edged(BOX, [(Copper(kind), piece)]), keeping(0.5))

    assert found.state is state
    assert found.measured == pytest.approx(-over, abs=0.002)
    assert found.remedy == f"Pull it back by {over + 0.5:.2f} mm"


def test_copper_outside_is_lost_unless_it_is_a_mark() -> None:
    far = shapely.box(10, -5, 11, -4)
    alone = edged(BOX, [(Copper(net="MARK"), far)])
    joined = edged(BOX, [(Copper(net="VCC"), far), (Copper(net="VCC"), pad(5.0))])

    assert [one.state for one in seen(NAME, alone, keeping(0.5))] == [State.REMARK]
    assert [one.state for one in seen(NAME, joined, keeping(0.5))] == [State.NOT_MAKEABLE]


def test_cutouts_have_an_edge_too() -> None:
    window = BOX.difference(shapely.box(20, 10, 30, 20))

    (found,) = seen(NAME, edged(window, [shapely.box(15, 12, 19.8, 14)]), keeping(0.5))

    assert found.measured == pytest.approx(0.2)


def test_inner_copper_does_not_reach_the_cutter() -> None:
    assert seen(NAME, edged(BOX, [pad(0.1)], side="inner 1"), keeping(0.5)) == []


def test_the_pad_of_a_half_hole_is_told_by_another_rule() -> None:
    hole = replace(hit(10.5, 0.0, 0.6), plated=True)

    assert seen(NAME, edged(BOX, [pad(-0.5)], hole), keeping(0.5)) == []
    assert len(seen("plated-edge", edged(BOX, [pad(-0.5)], hole), keeping(0.5))) == 1


def test_a_pad_that_its_hole_takes_away_is_no_copper() -> None:
    marks = [shapely.Point(x, 0).buffer(0.425) for x in (10.0, 30.0)]
    holes = [replace(hit(*hole), plated=False) for hole in ((10.0, 0.0, 0.9), (30.0, 0.0, 0.8))]

    (found,) = seen(NAME, edged(BOX, marks, *holes), keeping(0.5))

    assert found.x == pytest.approx(30, abs=0.1)


def test_copper_across_the_edge_is_not_told_as_near_it_too() -> None:
    # A diamond over the corner of a window: it crosses both sides of the window.
    window = shapely.box(10, 10, 20, 20)
    diamond = shapely.Polygon([(20, 8), (22, 10), (20, 12), (18, 10)])

    (found,) = seen(NAME, edged(BOX - window, [(Copper(Kind.POUR), diamond)]), keeping(0.5))

    assert found.measured == pytest.approx(-1.0, abs=0.05)  # looked at every 0.05 mm


def test_copper_round_a_corner_of_the_edge_is_told_once() -> None:
    window = shapely.box(10, 10, 20, 20)
    frame = shapely.box(5, 5, 25, 25) - shapely.box(9.8, 9.8, 20.2, 20.2)
    ell = frame & shapely.box(5, 5, 9.9, 9.9)

    found = seen(NAME, edged(BOX - window, [(Copper(Kind.POUR), ell)]), keeping(0.5))

    assert len({(one.x, one.y) for one in found}) == len(found)


def test_a_half_hole_whose_pad_is_drawn_in_parts_is_told_by_the_other_rule_alone() -> None:
    half, whole = (
        replace(hit(10.5, 0.0, 0.6), plated=True),
        replace(hit(10.5, 1.2, 0.6), plated=True),
    )
    pads = [pad(-0.5), pad(0.3, 1.5)]

    assert len(seen(NAME, edged(BOX, pads, whole), keeping(0.5))) == 2
    assert seen(NAME, edged(BOX, pads, half, whole), keeping(0.5)) == []


@given(st.lists(st.floats(-0.9, 3), min_size=1, max_size=6), st.floats(0, 4), st.floats(0, 4))
@settings(deadline=None, max_examples=40)
def test_a_wider_clearance_never_passes_more(offs: list[float], one: float, other: float) -> None:
    pads = [shapely.box(3.0 + 5 * k, off, 4.0 + 5 * k, off + 1) for k, off in enumerate(offs)]
    board, (low, high) = edged(BOX, pads), sorted((one, other))

    assert {found.x for found in seen(NAME, board, keeping(low))} <= {
        found.x for found in seen(NAME, board, keeping(high))
    }


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    subject = "copper at the edge"

    assert unchecked(NAME, edged(None, [pad(0)]), keeping(0.5)) == [Unchecked(subject, NO_EDGE)]
    assert unchecked(NAME, edged(BOX, [pad(0)]), keeping(None)) == [
        Unchecked(subject, "the profile sets no outline.edge_clearance")
    ]


def test_the_bad_sample_tells_its_bar() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # A bar from x = 3 to 27 mm, its lower edge 0.2 mm above that of the board.
    assert found.seen.measured == pytest.approx(0.2)
    assert (found.seen.x, found.seen.y) == pytest.approx((15.0, 0.2))
    assert found.seen.nets == ("GND",)


def test_an_edge_drawn_in_copper_is_told_by_another_rule() -> None:
    board = read_board([BAD.parents[1] / "outline-in-copper" / "bad"])
    process = load_profile("cone-30-0.1")

    assert seen(NAME, Facts(board, Reach(), (), ()), process) == []


def test_a_track_beside_an_edge_that_is_drawn_in_copper_is_still_told(tmp_path: Path) -> None:
    # The edge is drawn in copper with a pen of 1 mm, 0.1 mm outside itself: its inner rim lies
    # 0.4 mm inside. A track of that pen ends 0.5 mm inside and is no rim of that line.
    rim = [(-0.1, -0.1), (30.1, -0.1), (30.1, 20.1), (-0.1, 20.1), (-0.1, -0.1)]
    made = {
        "b-B_Cu.gbr": gerber(
            chain(*rim, pen=10), chain((15, 1), (15, 9), pen=10), function="Copper,L1,Bot"
        ),
        "b-Edge.gbr": gerber(rectangle(0, 0, 30, 20), function="Profile,NP"),
    }
    board = read_board([write(tmp_path, made)])

    (found,) = seen(NAME, Facts(board, Reach(), (), ()), keeping(0.7))

    assert found.measured == pytest.approx(0.5, abs=0.002)
    assert found.message.startswith("Trace 0.500 mm from the edge")
    assert (found.x, found.y) == pytest.approx((15, 0.5), abs=0.06)


@pytest.mark.parametrize("at", [15, 22], ids=["through the trace's middle", "beside it"])
def test_a_cut_out_drawn_through_a_trace_cuts_it_wherever_its_middle_is(
    tmp_path: Path, at: int
) -> None:
    made = {
        "b-B_Cu.gbr": gerber(chain((3, 10), (27, 10), pen=10), function="Copper,L1,Bot"),
        "b-Edge.gbr": gerber(
            rectangle(0, 0, 30, 20), rectangle(at - 2, 7, at + 2, 13), function="Profile,NP"
        ),
    }
    board = read_board([write(tmp_path, made)])

    found = seen(NAME, Facts(board, Reach(), (), ()), keeping(0.5))

    assert [one.state for one in found] == [State.NOT_MAKEABLE]
    assert found[0].x == pytest.approx(at, abs=2)
