from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.coupon import Coupon, coupon_of, layers, minutes_of
from checker.coupon.model import ALONG, Stroke
from checker.errors import UsageError
from checker.process import Process, load_profile
from checker.process.bit import Spread
from checker.process.vary import at_depth, at_width
from tests.coupon.made import ALL, FEW, MILLING, board, built_in
from tests.examples import quick

milling = pytest.mark.parametrize("name", quick(MILLING, FEW))
every = pytest.mark.parametrize("name", quick(ALL, FEW))


@milling
def test_files_are_read_back_without_a_remark(name: str) -> None:
    read = board(name)

    assert read.notes == ()
    assert read.unchecked == ()
    assert read.sides == ("top", "bottom")
    assert read.nets_from == "layer attributes"


@milling
def test_grooves_vernier_and_labels_are_not_taken_for_layers(name: str) -> None:
    unused = {source for source, role in board(name).sources if role == "not used"}

    assert unused == {f"{file}.gbr" for file in (*built_in(name).depths, "vernier", "labels")}


@every
def test_coupon_is_about_30_by_40_mm(name: str) -> None:
    width, height = board(name).size

    assert 24.0 <= width <= 36.0
    assert 32.0 <= height <= 48.0
    assert (width, height) == pytest.approx(built_in(name).size)


@milling
def test_coupon_takes_less_than_15_minutes_at_the_machine(name: str) -> None:
    minutes = minutes_of(built_in(name), board(name))

    assert minutes.coupon is not None
    assert 5.0 < minutes.coupon < 15.0
    assert minutes.outline is not None
    assert minutes.outline < 8.0


@every
def test_no_width_is_far_from_the_limits_of_its_process(name: str) -> None:
    coupon = built_in(name)
    cut, least = coupon.process.cut, coupon.process.minimum_trace
    assert cut is not None
    assert least is not None

    gaps = {cell.width for cell in coupon.cells if cell.what == "gaps"}
    traces = {cell.width for cell in coupon.cells if cell.what == "traces"}

    assert min(gaps) >= cut.least - 0.05
    assert max(gaps) <= cut.most + 0.051
    assert {round(abs(width - least), 6) <= 0.1 for width in traces} == {True}


@every
def test_combs_have_five_of_each_width_in_both_directions(name: str) -> None:
    coupon = built_in(name)

    found = [(cell.what, cell.across, cell.width) for cell in coupon.cells]

    asked = [
        (what, axis, width)
        for what, widths in (("gaps", coupon.gaps), ("traces", coupon.traces))
        for axis in "xy"
        for width in widths
    ]
    assert sorted(found) == sorted(asked)


@milling
def test_gaps_are_as_wide_as_their_labels(name: str) -> None:
    islands, cells = board(name).copper[0].islands, built_in(name).cells
    tree = shapely.STRtree(islands)

    for cell in (cell for cell in cells if cell.what == "gaps"):
        near = islands[tree.query(shapely.box(*cell.box), "dwithin", 0.001)]
        low = sorted(near, key=lambda one: one.bounds[0 if cell.across == "x" else 1])
        assert len(near) == 6
        apart = [a.distance(b) for a, b in pairwise(low)]
        assert apart == pytest.approx([cell.width] * 5, abs=1e-5)


@milling
def test_grooves_run_in_three_directions_in_the_middle_and_at_the_corners(name: str) -> None:
    coupon = built_in(name)
    depths = tuple(coupon.depths.values())

    rows = [(one.place, one.depth, one.along) for one in coupon.grooves]

    middle = [("middle", depth, along) for depth in depths for along in ALONG]
    corners = [(f"corner {n}", depths[1], along) for n in range(1, 5) for along in ALONG]
    assert rows == middle + corners


def directions(stroke: Stroke) -> set[str]:
    turned = {
        round(math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180)
        for (x0, y0), (x1, y1) in pairwise(stroke.points)
    }
    return {{0: "x", 90: "y", 45: "diagonal"}[turn] for turn in turned}


@milling
def test_every_groove_is_one_stroke_with_straight_stretches_that_can_be_read(name: str) -> None:
    coupon = built_in(name)

    lines = [one for one in coupon.strokes if one.file in coupon.depths]

    assert len(lines) == len(coupon.depths) + 4
    assert [directions(line) for line in lines] == [set(ALONG)] * len(lines)
    assert min(math.dist(a, b) for line in lines for a, b in pairwise(line.points)) > 1.59


@milling
def test_lowest_groove_in_the_middle_is_the_shallowest(name: str) -> None:
    coupon = built_in(name)
    (block,) = (one for one in coupon.blocks if one.name == "grooves middle")

    upwards = sorted(block.strokes, key=lambda one: one.points[0][1])

    depths = [coupon.depths[one.file] for one in upwards]
    assert depths == sorted(coupon.depths.values())


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_corner_1_is_lower_left_and_they_count_counter_clockwise(number: int) -> None:
    coupon = built_in("cone-30-0.1")
    block = next(one for one in coupon.blocks if one.name == f"grooves corner {number}")

    x, y = ((block.box[i] + block.box[i + 2]) / 2 for i in (0, 1))

    right, up = x > coupon.size[0] / 2, y > coupon.size[1] / 2
    assert (right, up) == [(False, False), (True, False), (True, True), (False, True)][number - 1]


@every
def test_what_is_cut_for_one_piece_touches_no_other(name: str) -> None:
    coupon = built_in(name)
    reach = coupon.process.cut.most if coupon.process.cut is not None else 0.0
    taken = []
    for block in coupon.blocks:
        shapes = [
            *(shapely.LineString(one.points).buffer(reach / 2) for one in block.strokes),
            *(
                shapely.MultiPoint(one.points).convex_hull.buffer(one.width / 2 + reach)
                for one in block.copper
                if one.net != "serpentine"
            ),
            *(shapely.Point(one.at).buffer(one.diameter / 2) for one in block.holes),
        ]
        serpentine = [one for one in block.copper if one.net == "serpentine"]
        shapes += [shapely.MultiPoint(one.points).convex_hull.buffer(reach) for one in serpentine]
        taken.append(shapely.union_all(shapes))

    hits = [
        (a.name, b.name)
        for (a, one), (b, other) in combinations(zip(coupon.blocks, taken, strict=True), 2)
        if one.intersects(other)
    ]

    assert hits == []
    assert shapely.box(0, 0, *coupon.size).contains(shapely.union_all(taken))


@milling
def test_engraved_lines_cut_no_copper(name: str) -> None:
    coupon = built_in(name)
    copper = shapely.union_all(board(name).copper[0].islands)
    cut = coupon.process.cut
    assert cut is not None

    engraved = shapely.union_all([shapely.LineString(one.points) for one in coupon.strokes])

    assert engraved.distance(copper) > cut.most / 2


@milling
def test_targets_and_dowels_lie_alike_on_both_sides_once_it_is_turned_over(name: str) -> None:
    coupon = built_in(name)
    width = coupon.size[0]
    targets = {one.points[0] for one in coupon.copper if one.side == "bottom"}
    dowels = {one.at for one in coupon.holes if one.function == "MechanicalDrill"}

    def turned(places: set[tuple[float, float]]) -> set[tuple[float, float]]:
        return {(round(width - x, 6), y) for x, y in places}

    assert coupon.targets == len(targets) == 2
    assert turned(targets) == targets
    assert turned(dowels) == dowels
    assert len(dowels) == 2


def test_process_of_one_layer_has_no_targets() -> None:
    coupon = coupon_of(replace(load_profile("cone-30-0.1"), layer_count=1))

    assert coupon.targets == 0
    assert coupon.sides == ("top",)
    assert "target" not in {block.name for block in coupon.blocks}


@milling
def test_steps_of_the_vernier_reach_twice_the_backlash(name: str) -> None:
    coupon = built_in(name)

    assert coupon.vernier_step is not None
    assert 3 * coupon.vernier_step >= 2 * coupon.process.machine.backlash


@every
def test_same_profile_gives_the_same_bytes(name: str) -> None:
    first, second = (layers(coupon_of(load_profile(name))) for _ in range(2))

    assert first == second


def test_etching_has_combs_alone() -> None:
    coupon = built_in("etch")

    assert {block.name for block in coupon.blocks} == {"gaps x", "gaps y", "traces x", "traces y"}
    assert coupon.strokes == ()
    assert coupon.grooves == ()
    assert set(layers(coupon)) == {"copper-top.gbr", "profile.gbr"}


def test_beam_engraves_grooves_without_a_depth() -> None:
    coupon = built_in("laser")

    assert coupon.depths == {"groove": 0.0}
    assert coupon.vernier_step is None
    assert len(coupon.grooves) == 15


def test_perfboard_is_refused_in_one_line() -> None:
    with pytest.raises(UsageError) as caught:
        coupon_of(load_profile("perfboard"))

    assert str(caught.value) == (
        "coupon perfboard: perfboard cuts no copper: there is nothing to measure; expected a "
        "process of milling, laser or etching"
    )


def test_bit_too_wide_for_a_coupon_is_refused_in_one_line() -> None:
    process = load_profile("flat-0.8")
    wide: Process = replace(process, cut=Spread(2.9, 3.0, 3.1), cut_rss=Spread(2.9, 3.0, 3.1))

    with pytest.raises(
        UsageError, match=r"a cut of 3\.10 mm is too wide for a coupon of 50 x 66 mm"
    ):
        coupon_of(wide)


def pieces(process: Process) -> Coupon | None:
    try:
        return coupon_of(process)
    except UsageError:
        return None


@settings(max_examples=5, deadline=None)
@given(
    shape=st.sampled_from(["cone-10-0.1", "cone-60-0.2"]),
    depth=st.floats(0.02, 0.8),
    bed=st.floats(0.0, 0.2),
    minimum=st.floats(0.05, 1.0),
    edge=st.floats(0.0, 5.0),
    dowels=st.floats(1.0, 6.0),
)
def test_pieces_never_overlap_whatever_the_profile(
    shape: str, depth: float, bed: float, minimum: float, edge: float, dowels: float
) -> None:
    process = load_profile(shape)
    process = replace(
        process,
        bed_error=bed,
        minimum_trace=minimum,
        outline=replace(process.outline, edge_clearance=edge),
        machine=replace(process.machine, dowels=dowels),
    )

    coupon = pieces(at_depth(process, depth))

    boxes = [shapely.box(*block.box) for block in coupon.blocks] if coupon is not None else []
    assert [
        (a.bounds, b.bounds) for a, b in combinations(boxes, 2) if a.intersection(b).area > 1e-9
    ] == []


@pytest.mark.parametrize("width", [0.1, 0.3, 0.6, 1.0, 1.2])
def test_end_mills_of_many_widths_have_a_coupon(width: float) -> None:
    coupon = pieces(at_width(load_profile("flat-0.4"), width))

    assert coupon is not None
    assert coupon.gaps[0] < width < coupon.gaps[-1]


def test_what_a_profile_leaves_open_is_left_out_and_said() -> None:
    process = load_profile("cone-30-0.1")
    bare = replace(
        process, minimum_trace=None, ring=None, drills=replace(process.drills, sizes=None)
    )

    coupon = coupon_of(bare)

    assert coupon.traces == ()
    assert coupon.targets == 0
    assert coupon.missing == (
        "combs of traces: the profile sets no minimum_trace",
        "rings round holes: the profile names no drills or no ring",
        "registration targets: the profile names no drills",
    )
