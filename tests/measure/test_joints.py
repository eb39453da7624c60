"""Joints by hand against a graph searched step by step, and against plain rectangles."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board, Part
from checker.measure.holes.joints import ERROR, OUT, joints_of
from checker.measure.holes.pads import held_holes_of
from checker.measure.holes.rivets import ERROR as RIVET_ERROR
from checker.measure.holes.rivets import rivet_room_of
from checker.measure.holes.uses import Use
from checker.read import read_board
from samples import parts
from samples.layout import Footprint, Land, Layout
from tests.coppered import Drawn, coppered, disk, drilled
from tests.joined import VIA, board_of, leap, without_words
from tests.read.made import at, chain, drill, gerber, pads, write

SAMPLES = Path(__file__).parents[2] / "samples" / "boards"
WIDE, HIGH, PITCH = 4, 3, 8.0
NODES = WIDE * HIGH
NEIGHBOURS = [(k, k + 1) for k in range(NODES) if k % WIDE < WIDE - 1]
NEIGHBOURS += [(k, k + WIDE) for k in range(NODES - WIDE)]


def place(node: int) -> tuple[float, float]:
    return 6.0 + PITCH * (node % WIDE), 6.0 + PITCH * (node // WIDE)


def web(leads: list[bool], tracks: list[tuple[bool, bool]]) -> Layout:
    """Posts and vias on a grid; tracks on the top and the bottom between neighbours."""
    board = Layout("web", (12.0 + PITCH * (WIDE - 1), 12.0 + PITCH * (HIGH - 1)))
    for node, lead in enumerate(leads):
        x, y = place(node)
        if lead:
            board.place(parts.header(1), f"J{node}", x, y, ["N"])
        else:
            board.via(x, y, "N", *VIA)
    for (a, b), sides in zip(NEIGHBOURS, tracks, strict=True):
        for side, there in zip(("top", "bottom"), sides, strict=True):
            if there:
                board.track(side, 0.8, "N", place(a), place(b))
    return board


def reachable(start: object, links: set[tuple[object, object]]) -> set[object]:
    """All that hangs together with a thing."""
    seen, todo = {start}, [start]
    while todo:
        one = todo.pop()
        for a, b in links:
            for here, there in ((a, b), (b, a)):
                if here == one and there not in seen:
                    seen.add(there)
                    todo.append(there)
    return seen


both_sides = st.tuples(st.booleans(), st.booleans())


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.booleans(), min_size=NODES, max_size=NODES),
    st.lists(both_sides, min_size=len(NEIGHBOURS), max_size=len(NEIGHBOURS)),
)
def test_what_is_needed_where_is_what_a_search_step_by_step_finds(
    leads: list[bool], tracks: list[tuple[bool, bool]]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        board = board_of(web(leads, tracks), Path(folder))
    joints = joints_of(board)
    node = [int(np.argmin([np.hypot(*(xy - place(k))) for k in range(NODES)])) for xy in joints.at]

    # Copper of a side is named by (side, node); a joint ties it to the lead or wire of the node.
    copper: set[tuple[object, object]] = {
        (f"{side} {a}", f"{side} {b}")
        for (a, b), there in zip(NEIGHBOURS, tracks, strict=True)
        for side, drawn in zip(("top", "bottom"), there, strict=True)
        if drawn
    }
    leaves = {end for link in copper for end in link}
    reached = {(f"bottom {k}", f"hole {k}") for k in range(NODES)}
    reached |= {(f"top {k}", f"hole {k}") for k in range(NODES) if not leads[k]}
    links = copper | reached
    assert sorted(node) == list(range(NODES))
    for row, k in enumerate(node):
        assert joints.joined[row].tolist() == [f"{s} {k}" in leaves for s in ("top", "bottom")]
        assert (joints.use[row] == Use.COMPONENT) == leads[k]
        needed = leads[k] and f"top {k}" in leaves
        apart = f"top {k}" not in reachable(f"hole {k}", links)
        assert joints.lost[row].tolist() == [needed and apart, False]


@settings(max_examples=8, deadline=None)
@given(st.lists(both_sides, min_size=len(NEIGHBOURS), max_size=len(NEIGHBOURS)))
def test_spare_joints_are_those_that_close_a_ring(tracks: list[tuple[bool, bool]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        board = board_of(web([False] * NODES, tracks), Path(folder))
    joints = joints_of(board)

    # One joint after another: it is spare where its two islands hang together already.
    links: set[tuple[object, object]] = set()
    spare = 0
    for top, bottom in joints.island[joints.both].tolist():
        spare += f"bottom {bottom}" in reachable(f"top {top}", links)
        links.add((f"top {top}", f"bottom {bottom}"))
    assert joints.spare == spare


# What stands over a joint


box = st.tuples(
    st.floats(-6, 6), st.floats(-6, 6), st.floats(0.5, 6), st.floats(0.5, 6), st.booleans()
)


def over(board: Board, boxes: list[tuple[float, float, float, float, bool]]) -> Board:
    """The board with bodies about its first via."""
    x, y = joints_of(board).at[0]
    found = [
        Part(
            f"U{k}",
            "top" if up else "bottom",
            x,
            y,
            shapely.box(x + a, y + b, x + a + w, y + b + h),
        )
        for k, (a, b, w, h, up) in enumerate(boxes)
    ]
    return replace(board, parts=tuple(found))


@pytest.fixture(scope="module")
def lone_via(tmp_path_factory: pytest.TempPathFactory) -> Board:
    layout = Layout("via", (30.0, 30.0))
    layout.via(15.0, 15.0, "N", *VIA)
    return board_of(layout, tmp_path_factory.mktemp("via"))


@given(st.lists(box, max_size=6))
def test_the_cover_of_a_via_is_the_deepest_rectangle_over_it(
    lone_via: Board, boxes: list[tuple[float, float, float, float, bool]]
) -> None:
    joints = joints_of(over(lone_via, boxes))

    for column, top in enumerate((True, False)):
        # Distance of the origin from the edges of a rectangle, negative inside it.
        depths = []
        for a, b, w, h, up in boxes:
            if up == top:
                dx, dy = max(a, -(a + w)), max(b, -(b + h))
                outside = np.hypot(max(dx, 0.0), max(dy, 0.0))
                depths.append(outside if outside > 0 else max(dx, dy))
        deepest = min(depths, default=np.inf)
        if abs(deepest - VIA[1] / 2) < ERROR:
            continue
        if deepest > VIA[1] / 2:
            assert joints.cover[0, column] == -1
            assert np.isnan(joints.clear[0, column])
        else:
            assert joints.clear[0, column] == pytest.approx(deepest, abs=ERROR)


@pytest.mark.parametrize(
    ("half", "reach", "lost"),
    [(1.0, 0.0, True), (0.5, 0.35, True), (0.34, 0.51, False)],
    ids=["hidden", "comes out", "far enough out"],
)
def test_a_pad_that_comes_out_from_under_the_body_can_be_reached(
    tmp_path: Path, half: float, reach: float, lost: bool
) -> None:
    post = Footprint((Land("1", 0, 0, 1.7, 1.7, "circle", 1.0),), (-half, -2.0, half, 2.0))
    layout = Layout("post", (30.0, 20.0))
    layout.place(post, "J1", 5.0, 10.0, ["N"])
    layout.place(parts.chip("1206"), "R1", 20.0, 10.0, ["N", ""])
    layout.track("top", 0.8, "N", (5.0, 10.0), (17.0, 10.0))

    joints = joints_of(board_of(layout, tmp_path))

    assert joints.reach[0, 0] == pytest.approx(reach, abs=0.01)
    assert (reach < OUT) == lost
    assert joints.lost[0].tolist() == [lost, False]


def test_parts_of_one_name_in_a_panel_are_told_apart_by_place(tmp_path: Path) -> None:
    board = board_of(leap(over_vias=False), tmp_path)
    assert board.parts is not None
    first = board.parts[0]
    copy = replace(first, x=first.x + 100, body=shapely.box(104, 11, 106, 13))
    moved = replace(board, parts=(copy, *board.parts))

    rows = np.flatnonzero(joints_of(moved).part >= 0)

    assert 0 not in joints_of(moved).part[rows]


# Which copper stands at a hole


def bare_board(
    folder: Path, top: str, bottom: str, hole: str = "X5.0Y5.0", size: str = "0.8"
) -> Board:
    return read_board(
        [
            write(
                folder,
                {
                    "t.gbr": gerber(top, function="Copper,L1,Top"),
                    "b.gbr": gerber(bottom, function="Copper,L2,Bot"),
                    "d.drl": drill(hole, tools=f"T1C{size}"),
                },
            )
        ]
    )


RING = "%LPC*%\n%ADD30C,0.7*%\nD30*\nX5000000Y5000000D03*\n%LPD*%"
REGION = (
    "G36*\n"
    + "\n".join(
        f"{at(*p)}D0{2 - bool(k)}*"
        for k, p in enumerate([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    )
    + "\nG37*"
)


@pytest.mark.parametrize(
    ("copper", "joined"),
    [
        (pads((5, 5)), False),
        (pads((5, 5), (5, 5)), False),
        (pads((5, 5)) + "\n" + pads((5, 5), pen=12), False),
        (pads((5, 5)) + "\n" + RING, False),
        (chain((5, 4.8), (5, 5.2), pen=10), False),
        (pads((5, 5)) + "\n" + chain((5, 5), (8, 5)), True),
        (pads((5, 5)) + "\n" + RING + "\n" + chain((5.4, 5), (8, 5)), True),
        (pads((5, 5)) + "\n" + REGION, True),
        (chain((5, 5), (8, 5), pen=10), True),
        (pads((5, 5), (5.8, 5)), True),
    ],
    ids=[
        "pad", "pad twice", "two shapes of pad", "ring", "stroke for a pad",
        "with a trace", "ring with a trace", "in a pour", "end of a trace", "two pads",
    ],
)  # fmt: skip
def test_whether_copper_goes_on_from_a_pad(tmp_path: Path, copper: str, joined: bool) -> None:
    joints = joints_of(bare_board(tmp_path, copper, pads((5, 5), (1, 1))))

    assert joints.joined.tolist() == [[joined, False]]
    assert (joints.island >= 0).all()


@pytest.mark.parametrize("sizes", [(0.8, 0.8), (0.35, 0.8), (0.8, 0.35)])
def test_a_hit_within_another_is_no_joint_of_its_own(sizes: tuple[float, float]) -> None:
    copper = [Drawn(disk(10, 10, 1.6), "A"), Drawn(shapely.box(10, 9.8, 20, 10.2), "A")]
    holes = [drilled(10, 10, size) for size in sizes]

    found = joints_of(coppered(*holes, top=copper, bottom=copper).board)

    assert (found.diameter.tolist(), found.spare) == ([0.8], 0)


def test_a_hole_for_a_screw_is_no_joint(tmp_path: Path) -> None:
    board = bare_board(tmp_path, pads((5, 5)), pads((5, 5)), size="3.2")

    assert len(joints_of(board)) == 0


def test_a_side_that_holds_nothing_but_idle_pads_is_bare(tmp_path: Path) -> None:
    bottom = pads((5, 5), (9, 5)) + "\n" + chain((5, 5), (9, 5))
    holes = "X5.0Y5.0\nX9.0Y5.0"

    def bare(name: str, more: str = "") -> tuple[str, ...]:
        top = pads((5, 5), (9, 5)) + "\n" + more
        return joints_of(bare_board(tmp_path / name, top, bottom, holes)).bare

    assert bare("idle") == ("top",)
    assert bare("letters", chain((1, 1), (2, 1), (2, 2))) == ("top",)
    assert bare("flat pad", pads((2, 2), pen=12)) == ()
    assert bare("track", chain((5, 5), (9, 5))) == ()


def test_layers_between_are_taken_as_joined() -> None:
    joints = joints_of(read_board([SAMPLES / "orchard-cam"]))

    assert not joints.lost.any()
    assert joints.bare == ()


# Holes in pads of parts that lie flat


def tab(x: float, hole: float = 0.9, lands: float = 1.9) -> Layout:
    layout = Layout("tab", (40.0, 30.0))
    layout.place(parts.sot223(), "U1", 20.0, 12.0, ["GND", "OUT", "IN", "OUT"])
    layout.via(x, 15.1, "OUT", lands, hole)
    return layout


@pytest.mark.parametrize(("x", "inside"), [(20.0, 1.1), (21.5, 0.25), (21.8, None), (26.0, None)])
@pytest.mark.parametrize("named", [True, False])
def test_a_hole_is_in_the_pad_where_its_middle_is(
    tmp_path: Path, x: float, inside: float | None, named: bool
) -> None:
    layout = tab(x)
    board = board_of(layout, tmp_path, None if named else without_words(layout))
    held = held_holes_of(board)

    if inside is None or (not named and x == 20.0):  # a pad about the hole may well be its own
        assert len(held.hole) == 0
    else:
        assert held.inside.tolist() == pytest.approx([inside])


def test_a_lead_fills_its_hole(tmp_path: Path) -> None:
    lands = (
        Land("1", 0, 0, 3, 3, function="SMDPad,CuDef"),
        Land("1", 0.5, 0, 1.6, 1.6, "circle", 0.9),
    )
    layout = Layout("shell", (20.0, 20.0))
    layout.place(Footprint(lands, (-3, -3, 3, 3)), "J1", 10.0, 10.0, ["GND"])

    assert len(held_holes_of(board_of(layout, tmp_path)).hole) == 0


# Screws take holes from 2.5 mm on, leads from 0.6 mm on.
@pytest.mark.parametrize(
    ("size", "function", "held"),
    [
        (0.9, "ViaDrill", 1),
        (2.4, "ViaDrill", 1),
        (2.6, "ViaDrill", 0),
        (2.0, "MechanicalDrill", 0),
        (0.5, "ComponentDrill", 1),
        (0.7, "ComponentDrill", 0),
    ],
)
def test_holes_of_screws_and_leads_drain_no_pad(size: float, function: str, held: int) -> None:
    flat = Drawn(shapely.box(0, 0, 12, 12), "GND", pin="U1.1")
    own = Drawn(disk(8, 8, size + 0.6), "GND")
    facts = coppered(drilled(8, 8, size, function=function), top=[flat, own])

    assert len(held_holes_of(facts.board).hole) == held


# Rivets


@pytest.mark.parametrize("name", ["hive-scale", "tide-logger"])
def test_room_round_rivets_is_the_distance_to_each_foreign_island(name: str) -> None:
    board = read_board([SAMPLES / name])
    reach = 1.5

    room, joints = rivet_room_of(board, reach), joints_of(board)

    assert len(room.joint) > 5
    for row, joint in enumerate(room.joint.tolist()):
        point = shapely.Point(joints.at[joint])
        for column, layer in enumerate(board.copper):
            net = layer.net[joints.island[joint, column]]
            nearest = shapely.distance(point, layer.islands[layer.net != net]).min()
            if nearest < reach - RIVET_ERROR:
                assert room.copper[row, column] == pytest.approx(nearest, abs=RIVET_ERROR)
            elif nearest > reach + RIVET_ERROR:
                assert np.isinf(room.copper[row, column])
