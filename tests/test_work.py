"""Times, wear and work by hand: small boards counted out by hand, feeds in round numbers."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker import load_profile
from checker.board import Board, Unchecked
from checker.process import profile_names
from checker.process.bit import Bit
from checker.process.model import Process
from checker.process.shop import Drills, EdgeWork, Feeds, Hand, HoleGrid, Machine, Stock
from checker.work import Chore, ToolWork, Work, isolation, offsets_of, work_of
from tests.edged import BOX, edged
from tests.handmade import PLAIN, exactly
from tests.holed import hit, slot
from tests.joined import board_of, leap
from tests.layouts import board_of as bare

MIN, SEC = 1 / 60, 1 / 3600  # in hours, as profiles hold times
NONE = exactly(0.0)
MILL = replace(
    PLAIN,
    bit=Bit("flat", exactly(0.2), 0.0, exactly(0.1), 0.2, NONE, NONE),
    cut=exactly(0.2),
    drills=Drills(sizes=(0.8, 0.9), tolerance=0.05),
    outline=EdgeWork(cutter=1.0, pass_depth=0.4),
    machine=Machine(probe_spacing=10.0, dowels=1.5),
    stock=Stock(thickness=1.6),
    feeds=Feeds(cut=100, outline=50, hole=6 * SEC, lift=6 * SEC, probe=3 * SEC, life=0.5),
    hand=Hand(setup=15 * MIN, change=3 * MIN, flip=10 * MIN, joint=2 * MIN, lead=1 * MIN),
)
LASER = replace(
    MILL,
    method="laser",
    bit=Bit("beam", exactly(0.05), 0.0, NONE, 0.05, NONE, NONE),
    cut=exactly(0.05),
    hand=Hand(setup=5 * MIN, flip=10 * MIN, hole=1 * MIN, outline=20 * MIN, joint=2 * MIN),
)
ETCH = replace(
    MILL,
    method="etching",
    bit=None,
    hand=Hand(etch=60 * MIN, flip=10 * MIN, hole=1 * MIN, outline=20 * MIN, joint=2 * MIN),
)
PERFBOARD = replace(
    PLAIN,
    method="perfboard",
    bit=None,
    cut=None,
    grid=HoleGrid(pitch=2.54, bend=0.4),
    hand=Hand(outline=5 * MIN, wire=3 * MIN, bridge=1 * MIN),
)
PAD = shapely.box(5, 5, 15, 15)


def plate(*, outline: shapely.Geometry | None = BOX, read: bool = True) -> Board:
    """An edge of 40 x 30 mm, a pad of 10 x 10 mm, four holes and a slot."""
    holes = (
        hit(20, 5, 0.8),
        hit(22, 5, 0.8),
        hit(24, 5, 0.85),
        hit(30, 20, 3.2),
        slot((20, 20), (24, 20), 1.0),
    )
    return edged(outline, [PAD], *(holes if read else ()), read=read).board


PLATE = plate()


def tool(work: Work, name: str) -> ToolWork:
    (found,) = [one for one in work.tools if one.tool == name]
    return found


def why(work: Work, what: str) -> str:
    (found,) = [one.why for one in work.unknown if one.what == what]
    return found


# Passes


@pytest.mark.parametrize(
    ("cleared", "overlap", "offsets"),
    [
        (None, 0.0, [0.1]),
        (0.2, 0.0, [0.1]),
        (0.4, 0.0, [0.1, 0.3]),
        (0.41, 0.0, [0.1, 0.205, 0.31]),
        (0.4, 0.5, [0.1, 0.2, 0.3]),
    ],
)
def test_passes_lie_side_by_side_up_to_the_width_cleared(
    cleared: float | None, overlap: float, offsets: list[float]
) -> None:
    # Passes 0.2 mm wide: the last ends where the cleared width does.
    process = replace(MILL, cleared_width=cleared, feeds=Feeds(overlap=overlap))

    assert offsets_of(process) == pytest.approx(offsets)


# Machine


def test_the_isolating_bit_comes_first_with_way_time_and_wear() -> None:
    work = work_of(plate(), MILL)

    # One pass 0.1 mm from a square of 10 mm: 40 + 2 pi 0.1 mm at 100 mm/min, one lift of 0.1 min.
    way = 40 + 0.2 * math.pi
    assert work.tools[0].tool == "flat 0.20 mm"
    assert work.tools[0].metres == pytest.approx(way / 1000)
    assert work.tools[0].minutes == pytest.approx(way / 100 + 0.1)
    assert work.tools[0].tips == pytest.approx(way / 500)


def test_holes_go_to_the_nearest_drill_at_hand_of_two_the_wider() -> None:
    work = work_of(plate(), MILL)

    assert [(one.tool, one.hits) for one in work.tools[1:3]] == [
        ("drill 0.80 mm", 2),
        ("drill 0.90 mm", 1),
    ]
    assert [one.minutes for one in work.tools[1:3]] == pytest.approx([0.2, 0.1])


def test_a_hole_without_a_drill_counts_under_its_own_size() -> None:
    board = edged(BOX, [PAD], hit(20, 5, 1.1)).board

    assert tool(work_of(board, MILL), "drill 1.10 mm").hits == 1


def test_the_cutter_goes_round_the_board_in_wide_holes_and_along_slots() -> None:
    cutter = tool(work_of(plate(), MILL), "cutter 1.00 mm")

    # Half a diameter off the edge, 140 mm + pi; in a hole of 3.2 mm a circle of 2.2 mm; 4 mm of
    # slot; all that in 1.6 / 0.4 = 4 passes.
    way = 4 * (140 + math.pi + 2.2 * math.pi + 4)
    assert cutter.metres == pytest.approx(way / 1000)
    assert cutter.minutes == pytest.approx(way / 50)


def test_in_a_cut_out_the_cutter_keeps_to_the_inside() -> None:
    frame = BOX.difference(shapely.box(10, 10, 30, 20))
    board = edged(frame, [shapely.box(2, 2, 8, 8)]).board

    cutter = tool(work_of(board, MILL), "cutter 1.00 mm")

    # Outside the edge pi longer, inside the cut-out shorter by about as much.
    assert cutter.metres == pytest.approx(4 * (140 + 60) / 1000)


def test_a_slot_wider_than_the_cutter_is_gone_round() -> None:
    board = edged(BOX, [PAD], slot((20, 20), (24, 20), 3.0)).board

    cutter = tool(work_of(board, MILL), "cutter 1.00 mm")

    # The cutter's middle goes round a slot 4 mm long at 1 mm from its line.
    assert cutter.metres == pytest.approx(4 * (140 + math.pi + 8 + 2 * math.pi) / 1000)


def test_a_slot_narrower_than_the_cutter_is_not_estimated() -> None:
    board = edged(BOX, [PAD], slot((20, 20), (24, 20), 0.6)).board

    assert why(work_of(board, MILL), "slots") == "1 narrower than the cutter of 1.00 mm"


def test_every_point_of_the_grid_is_probed_rim_included() -> None:
    # 40 x 30 mm at 10 mm: 5 x 4 points of 3 s.
    assert tool(work_of(plate(), MILL), "probe") == ToolWork("probe", hits=20, minutes=1.0)


def test_without_a_grid_nothing_is_probed() -> None:
    work = work_of(plate(), replace(MILL, machine=Machine()))

    assert "probe" not in [one.tool for one in work.tools]


def test_the_sum_is_that_of_the_tools() -> None:
    work = work_of(plate(), MILL)

    assert work.unknown == ()
    assert work.machine_minutes == pytest.approx(
        (40 + 0.2 * math.pi) / 100 + 0.1 + 0.3 + 4 * (144 + 3.2 * math.pi) / 50 + 1.0
    )


def test_parts_of_the_isolation_add_up() -> None:
    board = bare([shapely.box(0, 0, 1, 1), shapely.box(1.3, 0, 2.3, 1)])

    whole, fine, coarse = (
        isolation(board, MILL, **bounds) for bounds in ({}, {"below": 0.2}, {"beyond": 0.2})
    )

    assert whole is not None
    assert fine is not None
    assert coarse is not None
    assert fine.metres == pytest.approx(0.002, rel=0.15)  # two edges of 1 mm face each other
    assert (fine.metres or 0) + (coarse.metres or 0) == pytest.approx(whole.metres)
    # Either bit is lifted for both pads.
    assert (fine.minutes or 0) + (coarse.minutes or 0) == pytest.approx((whole.minutes or 0) + 0.2)


# Hands


def test_a_tool_is_changed_for_every_one_after_the_first() -> None:
    # Bit, two drills, cutter.
    setup, changes = work_of(plate(), MILL).chores

    assert setup == Chore("set-up of the machine", 1, 15.0)
    assert (changes.what, changes.count) == ("changes of tool", 3)
    assert changes.minutes == pytest.approx(9.0)


def test_two_sides_are_lined_up_joined_and_isolated_with_the_same_bit_again(tmp_path: Path) -> None:
    # Two vias; a bit, two drills and a cutter, and the bit once more for the second side.
    work = work_of(board_of(leap(), tmp_path), MILL)

    drills = sum(one.tool.startswith("drill") for one in work.tools)
    assert [(chore.what, chore.count, chore.minutes) for chore in work.chores] == [
        ("set-up of the machine", 1, 15.0),
        ("lining up of the second side", 1, 10.0),
        ("changes of tool", drills + 2, 3.0 * (drills + 2)),
        ("wires through the board", 2, 4.0),
    ]


def test_leads_that_join_the_sides_are_soldered_twice(tmp_path: Path) -> None:
    layout = leap(over_vias=False)
    layout.track("bottom", 0.8, "LINE", (5.0, 12.0), (5.0, 16.0))

    work = work_of(board_of(layout, tmp_path), MILL)

    assert work.chores[-1] == Chore("lead soldered on both sides", 1, 1.0)


def test_a_beam_leaves_holes_and_outline_to_hands() -> None:
    work = work_of(plate(), LASER)

    assert [one.tool for one in work.tools] == ["beam 0.05 mm"]
    assert work.tools[0].tips is None
    assert work.chores == (
        Chore("set-up of the machine", 1, 5.0),
        Chore("holes drilled by hand", 5, 5.0),
        Chore("outline sawn and filed", 1, 20.0),
    )


def test_a_bath_takes_no_machine() -> None:
    work = work_of(plate(), ETCH)

    assert (work.tools, work.machine_minutes) == ((), 0.0)
    assert [chore.what for chore in work.chores] == [
        "transfer and etching",
        "holes drilled by hand",
        "outline sawn and filed",
    ]
    assert work.hand_minutes == 60 + 5 + 20


def test_a_perfboard_is_cut_and_wired(tmp_path: Path) -> None:
    # Two nets of two leads each, 30 and 16 mm apart: a wire for each.
    work = work_of(board_of(leap(over_vias=False), tmp_path), PERFBOARD)

    assert work.chores == (Chore("cutting to size", 1, 5.0), Chore("wires", 2, 6.0))


# What is not known


@pytest.mark.parametrize(
    ("process", "what", "key"),
    [
        (replace(MILL, feeds=replace(MILL.feeds, cut=None)), "time of the isolation", "feeds.cut"),
        (replace(MILL, feeds=replace(MILL.feeds, lift=None)), "lifts of the bit", "feeds.lift"),
        (replace(MILL, feeds=replace(MILL.feeds, hole=None)), "drilling", "feeds.hole"),
        (replace(MILL, feeds=replace(MILL.feeds, probe=None)), "probing", "feeds.probe"),
        (replace(MILL, feeds=replace(MILL.feeds, outline=None)), "time of the outline",
         "feeds.outline"),
        (replace(MILL, outline=EdgeWork()), "cutting out", "outline.cutter"),
        (replace(MILL, stock=Stock()), "time of the outline", "stock.thickness"),
        (replace(MILL, outline=EdgeWork(cutter=1.0)), "time of the outline", "outline.pass_depth"),
    ],
)  # fmt: skip
def test_what_the_profile_leaves_open_makes_the_sum_unknown(
    process: Process, what: str, key: str
) -> None:
    work = work_of(plate(), process)

    assert why(work, what) == f"the profile sets no {key}"
    assert work.machine_minutes is None


def test_without_a_life_only_the_wear_is_unknown() -> None:
    work = work_of(plate(), replace(MILL, feeds=replace(MILL.feeds, life=None)))

    assert why(work, "wear of the bit") == "the profile sets no feeds.life"
    assert work.tools[0].tips is None
    assert work.machine_minutes is not None


def test_a_time_by_hand_that_is_not_set_makes_that_sum_unknown() -> None:
    work = work_of(plate(), replace(MILL, hand=Hand(setup=15 * MIN)))

    assert work.hand_minutes is None
    assert why(work, "changes of tool") == "the profile sets no hand.change"


def test_without_an_outline_it_says_that_cutting_out_is_not_in_the_sum() -> None:
    board = edged(None, [PAD], hit(20, 5, 0.8)).board

    for process in (MILL, LASER, ETCH):
        assert why(work_of(board, process), "cutting out") == "the board's edge is not known"


def test_without_a_drill_file_it_says_that_drilling_is_not_in_the_sum() -> None:
    for process in (MILL, LASER, ETCH):
        assert why(work_of(plate(read=False), process), "drilling") == "no drill file"
    assert why(work_of(plate(read=False), PERFBOARD), "wires between leads") == "no drill file"


def test_two_sides_without_holes_for_dowels_are_told(tmp_path: Path) -> None:
    work = work_of(board_of(leap(), tmp_path), MILL)

    assert why(work, "holes for dowels") == "0 holes of 1.50 mm or more for dowels, 2 are needed"


def test_inner_layers_are_not_in_the_sum() -> None:
    board = bare([PAD], [PAD], [PAD], [PAD])

    assert why(work_of(board, MILL), "inner layers") == "2 of them, only the outer sides count"


@pytest.mark.parametrize("process", [MILL, LASER, ETCH, PERFBOARD])
def test_a_board_without_copper_holes_or_edge_says_what_is_missing(process: Process) -> None:
    empty = replace(bare([]), unchecked=(Unchecked("holes", "no drill file"),))

    work = work_of(empty, process)

    assert all(not one.metres for one in work.tools)
    assert "no drill file" in [one.why for one in work.unknown]


# Built-in profiles


@pytest.mark.parametrize("name", profile_names())
def test_built_in_profiles_leave_nothing_open(name: str) -> None:
    work = work_of(plate(), load_profile(name))

    assert [one for one in work.unknown if "profile" in one.why] == []
    assert work.machine_minutes is not None
    assert work.hand_minutes is not None


def test_times_are_read_in_seconds_minutes_and_hours(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    times = "feeds: {hole: 6 s}\nhand: {setup: 90 s, change: 2 min, flip: 0.5 h}\n"
    file.write_text(f"based_on: cone-30-0.1\n{times}", encoding="utf-8")

    process = load_profile(file)

    held = (process.feeds.hole, process.hand.setup, process.hand.change, process.hand.flip)
    assert held == pytest.approx((6 / 3600, 90 / 3600, 2 / 60, 0.5))


@settings(deadline=None, max_examples=15)
@given(st.floats(0.2, 1.0), st.floats(0.2, 1.0), st.floats(0.0, 0.8))
def test_clearing_more_never_takes_less_time(one: float, other: float, overlap: float) -> None:
    less, more = (
        work_of(
            PLATE, replace(MILL, cleared_width=width, feeds=replace(MILL.feeds, overlap=overlap))
        )
        for width in sorted((one, other))
    )

    assert less.machine_minutes is not None
    assert more.machine_minutes is not None
    assert less.machine_minutes <= more.machine_minutes + 1e-9
