"""Necks of shapes whose answer is known, and what must not change them."""

from __future__ import annotations

from math import cos, hypot, radians, sin, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, affinity, box

from checker.measure import Necks
from checker.measure.boundary.minima import double_normals, screen
from checker.measure.boundary.segments import Segments
from checker.measure.necks.census import NeckRows, census_necks
from checker.measure.necks.meeting import WIDE
from checker.measure.necks.strips import strips_of
from tests.examples import seeds
from tests.layouts import layout
from tests.oracles.opening import lasting_cores, pieces, saw

if TYPE_CHECKING:
    from collections.abc import Sequence

REACH = 0.5
CHORD = 2e-4  # mm: bound on the error of the arcs drawn here, two walls together
FAMILIES = ("ordinary", "webs", "combs", "rings", "mixed")


def table(*copper: Any) -> Segments:
    parts = shapely.get_parts(shapely.union_all(list(copper)))
    return Segments.of(np.array(parts, dtype=object))


def necks(*copper: Any, reach: float = REACH, pads: Any = None) -> NeckRows:
    points = None if pads is None else np.array(pads, dtype=float).reshape(-1, 2)
    return census_necks(table(*copper), reach, points)


def disc(x: float, y: float, radius: float, quad_segs: int = 64) -> Any:
    return Point(x, y).buffer(radius, quad_segs=quad_segs)


def track(*points: tuple[float, float], width: float = 0.2) -> Any:
    return LineString(points).buffer(width / 2, quad_segs=32)


def on_circle(radius: float, degrees: float) -> tuple[float, float]:
    return radius * cos(radians(degrees)), radius * sin(radians(degrees))


def arc(radius: float, degrees: float, width: float = 0.2) -> Any:
    points = [on_circle(radius, turn) for turn in np.linspace(0, degrees, 400)]
    return track(*points, width=width)


def ring(radius: float, width: float) -> Any:
    return disc(0, 0, radius + width / 2) - disc(0, 0, radius - width / 2)


def rounded(width: float, height: float, radius: float) -> Any:
    x, y = width / 2 - radius, height / 2 - radius
    return box(-x, -y, x, y).buffer(radius)


def teardrop() -> Any:
    return shapely.union_all([disc(0, 0, 0.5), disc(1, 0, 0.05)]).convex_hull


STROKES: dict[str, list[list[tuple[float, float]]]] = {
    "A": [[(0, 0), (0.5, 1.5), (1, 0)], [(0.17, 0.5), (0.83, 0.5)]],
    "E": [[(1, 0), (0, 0), (0, 1.5), (1, 1.5)], [(0, 0.75), (0.8, 0.75)]],
    "F": [[(0, 0), (0, 1.5), (1, 1.5)], [(0, 0.75), (0.8, 0.75)]],
    "H": [[(0, 0), (0, 1.5)], [(1, 0), (1, 1.5)], [(0, 0.75), (1, 0.75)]],
    "K": [[(0, 0), (0, 1.5)], [(1, 1.5), (0, 0.7), (1, 0)]],
    "N": [[(0, 0), (0, 1.5), (1, 0), (1, 1.5)]],
    "O": [[(0, 0.2), (0, 1.3), (0.2, 1.5), (1, 1.3), (1, 0.2), (0.8, 0), (0.2, 0), (0, 0.2)]],
    "P": [[(0, 0), (0, 1.5), (0.7, 1.5), (0.9, 1.1), (0.7, 0.75), (0, 0.75)]],
    "S": [[(1, 1.3), (0.8, 1.5), (0, 1.3), (0, 1), (1, 0.5), (1, 0.2), (0.8, 0), (0, 0.2)]],
    "Z": [[(0, 1.5), (1, 1.5), (0, 0), (1, 0)]],
}
LETTERS = sorted(STROKES)


def letter(name: str, width: float) -> Any:
    return shapely.union_all([track(*stroke, width=width) for stroke in STROKES[name]])


def thermal() -> Any:
    pour = box(-3, -3, 3, 3) - disc(0, 0, 1)
    spokes = [box(-1.2, -0.15, 1.2, 0.15), box(-0.15, -1.2, 0.15, 1.2)]
    return shapely.union_all([pour, disc(0, 0, 0.6), *spokes])


def plus() -> Any:
    return shapely.union_all([box(-1, -0.1, 1, 0.1), box(-0.1, -1, 0.1, 1)])


@pytest.mark.parametrize("turn", [0.0, 7.3, 22.5])
@pytest.mark.parametrize("quad_segs", [2, 3, 4, 5, 8, 13, 16, 32])
def test_a_disc_has_no_neck(quad_segs: int, turn: float) -> None:
    found = necks(affinity.rotate(disc(0, 0, 0.2, quad_segs), turn))

    assert len(found) == 0


@pytest.mark.parametrize("turn", [0.0, 31.0])
@pytest.mark.parametrize(
    "copper",
    [
        pytest.param(box(0, 0, 0.4, 0.4), id="square"),
        pytest.param(box(0, 0, 0.6, 0.45), id="pad"),
        pytest.param(rounded(0.5, 0.5, 0.05), id="square with small corners"),
        pytest.param(rounded(0.5, 0.5, 0.2), id="square with large corners"),
        pytest.param(rounded(0.6, 0.45, 0.1), id="rounded pad"),
        pytest.param(rounded(0.6, 0.45, 0.22), id="obround pad"),
        pytest.param(track((0, 0), (3, 0), width=0.8), id="wide track"),
        pytest.param(track((0, 0), (3, 0), (3, 3), width=0.8), id="wide bend"),
        pytest.param(track((0, 0), (3, 0), (1, 1), width=0.8), id="wide sharp bend"),
        pytest.param(arc(3, 110, width=0.8), id="wide arc"),
        pytest.param(ring(3, 0.8), id="wide ring"),
        pytest.param(teardrop(), id="teardrop"),
        pytest.param(Polygon([(0, 0), (2, -0.3), (2, 0.3)]), id="wedge"),
        pytest.param(Polygon([(0, 0), (5, 0), (2, 5)]), id="triangle"),
        pytest.param(Polygon([(0, 0), (0.5, 0), (0.2, 0.5)]), id="small triangle"),
    ],
)
def test_copper_that_only_narrows_outward_has_no_neck(copper: Any, turn: float) -> None:
    found = necks(affinity.rotate(copper, turn))

    assert len(found) == 0


@pytest.mark.parametrize("name", LETTERS)
def test_a_letter_drawn_wider_than_the_reach_has_no_neck(name: str) -> None:
    found = necks(letter(name, 0.2), reach=0.19)

    assert len(found) == 0


@pytest.mark.parametrize("name", LETTERS)
def test_a_letter_drawn_narrower_is_narrow_but_carries_nothing(name: str) -> None:
    found = necks(letter(name, 0.2))

    assert len(found)
    assert not found.carries.any()
    assert found.width == pytest.approx(0.2, abs=CHORD)


# Widths and lengths in closed form. A web is as long as its width stays within 5 %: between two
# circles of radius r and centres 2 D apart, 2 sqrt((r + 1.05 d/2)² - D²).
@pytest.mark.parametrize(
    ("copper", "width", "length"),
    [
        pytest.param(
            shapely.union_all([disc(0, 0, 0.5), disc(2, 0, 0.5), box(0, -0.1, 2, 0.1)]),
            0.2,
            2 - 2 * sqrt(0.5**2 - 0.1**2),
            id="dumbbell",
        ),
        pytest.param(
            shapely.union_all([box(0, -0.3, 1, 0.3), box(1, -0.1, 2, 0.1), box(2, -0.3, 3, 0.3)]),
            0.2,
            1.0,
            id="neck-down",
        ),
        pytest.param(
            box(0, 0, 3, 1) - Polygon([(1.4, 1.1), (1.6, 1.1), (1.5, 0.23)]), 0.23, 0.0, id="notch"
        ),
        pytest.param(
            box(0, 0, 3, 1) - disc(1.5, 1, 0.7), 0.3, 2 * sqrt(0.8575**2 - 0.8425**2), id="bite"
        ),
        pytest.param(
            box(-3, -3, 3, 3) - disc(-0.6, -0.4, 0.65) - disc(0.6, 0.4, 0.65),
            hypot(1.2, 0.8) - 1.3,
            2 * sqrt((0.65 + 0.525 * (hypot(1.2, 0.8) - 1.3)) ** 2 - 0.52),
            id="web between two holes",
        ),
        pytest.param(
            box(-3, -3, 3, 3) - disc(0, 2, 0.6),
            0.4,
            2 * sqrt(0.81**2 - 0.79**2),
            id="web to the edge",
        ),
        pytest.param(
            shapely.union_all([track((0, 0), (3, 1)), disc(0, 0, 0.5), disc(3, 1, 0.5)]),
            0.2,
            sqrt(10) - 2 * sqrt(0.5**2 - 0.1**2),
            id="slanted trace",
        ),
        pytest.param(
            shapely.union_all([arc(3, 100), disc(3, 0, 0.6), disc(*on_circle(3, 100), 0.6)]),
            0.2,
            3 * radians(100) - 2 * 0.6,
            id="arc between pads",
        ),
    ],
)
def test_a_shape_with_one_neck_has_exactly_one(copper: Any, width: float, length: float) -> None:
    found = necks(copper)

    assert found.carries.tolist() == [True]
    assert found.width[0] == pytest.approx(width, abs=CHORD)
    assert found.length[0] == pytest.approx(length, abs=width / 2)


def test_a_thermal_relief_has_a_neck_for_each_spoke() -> None:
    found = necks(thermal())

    assert found.carries.tolist() == [True] * 4
    assert found.width == pytest.approx(0.3)
    assert sorted(np.hypot(*found.at.T)) == pytest.approx([0.8] * 4, abs=0.02)


def test_a_plus_has_four_arms_that_carry_nothing() -> None:
    found = necks(plus())

    assert found.carries.tolist() == [False] * 4
    assert found.width == pytest.approx(0.2)
    assert found.length == pytest.approx(0.9, abs=0.1)


@pytest.mark.parametrize(
    "tail",
    [
        pytest.param([(0.0, 0.0), (2.0, 0.0)], id="straight"),
        pytest.param([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)], id="bent"),
        pytest.param([(0.0, 0.0), (2.0, 0.0), (3.0, 1.0), (3.0, 3.0), (4.0, 3.0)], id="bent often"),
    ],
)
def test_a_tail_of_a_pad_is_one_stub(tail: list[tuple[float, float]]) -> None:
    found = necks(disc(0, 0, 0.5), track(*tail))

    assert found.carries.tolist() == [False]
    assert found.length[0] == pytest.approx(LineString(tail).length - sqrt(0.24), abs=0.1)


# Two chords 0.0423 mm apart: from 0.0863 mm on, not from 0.083 mm, walls may part for so long.
def test_a_spike_a_little_narrower_where_it_leaves_the_pour_is_one_stub() -> None:
    spike = [(-1, 0), (1.5, 0), (1.5, 0.0863), (0.0423, 0.0863), (0, 0.083), (-1, 1)]

    found = necks(Polygon(spike))

    assert found.carries.tolist() == [False]
    assert found.length[0] == pytest.approx(1.5, abs=0.05)


@pytest.mark.parametrize("turn", [*range(0, 145, 5)])
def test_a_trace_round_a_bend_is_one_run(turn: int) -> None:
    end = (2 + 2 * cos(radians(turn)), 2 * sin(radians(turn)))

    found = necks(disc(0, 0, 0.4), track((0, 0), (2, 0), end), disc(*end, 0.4))

    assert found.carries.tolist() == [True]
    assert found.width[0] == pytest.approx(0.2)
    assert found.length[0] == pytest.approx(4 - 2 * sqrt(0.4**2 - 0.1**2), abs=0.1)


# The centre line of a bend with a square outer corner: its legs less half a width each.
@pytest.mark.parametrize(
    ("width", "reach", "fillet"), [(0.3, 0.34, 0.0), (0.3, 0.34, 0.05), (0.2, 0.34, 0.05)]
)
def test_a_square_bend_of_copper_about_as_wide_as_the_reach_is_one_run(
    width: float, reach: float, fillet: float
) -> None:
    bend = box(0, 0, 3, width) | box(3 - width, 0, 3, 3)

    found = necks(bend.buffer(fillet).buffer(-fillet), reach=reach)

    assert found.length.tolist() == pytest.approx([2 * (3 - width / 2)], abs=0.05)
    assert found.width.tolist() == pytest.approx([width], abs=0.002)


@pytest.mark.parametrize(("lump", "runs"), [(1.2, [6.0]), (1.4, [6.0]), (1.8, [2.85, 2.85])])
def test_a_lump_at_a_bend_less_than_one_and_a_half_widths_wide_parts_nothing(
    lump: float, runs: list[float]
) -> None:
    # Legs of 3 mm; a disc of 0.36 mm about the corner takes 0.15 mm of each, where it is as wide.
    found = necks(track((0, 0), (3, 0), (3, 3)), disc(3, 0, 0.1 * lump))

    assert found.length.tolist() == pytest.approx(runs, abs=0.06)


def test_a_staircase_is_one_run() -> None:
    steps = [(0.0, 0.0), *((0.5 * ((k + 1) // 2), 0.5 * (k // 2)) for k in range(1, 14))]

    found = necks(disc(*steps[0], 0.4), track(*steps), disc(*steps[-1], 0.4))

    assert found.carries.tolist() == [True]
    assert found.length[0] == pytest.approx(0.5 * 13 - 2 * sqrt(0.4**2 - 0.1**2), abs=0.1)


def test_each_branch_of_a_net_carries_but_not_one_that_ends_nowhere() -> None:
    pads = [disc(0, 0, 0.4), disc(3, 0, 0.4)]
    tracks = [track((0, 0), (3, 0)), track((1.5, 0), (1.5, 2))]

    to_a_pad = necks(*pads, disc(1.5, 2, 0.4), *tracks)
    to_nowhere = necks(*pads, *tracks)

    assert to_a_pad.carries.tolist() == [True] * 3
    assert sorted(to_nowhere.carries.tolist()) == [False, True, True]
    assert to_nowhere.at[~to_nowhere.carries][0] == pytest.approx([1.5, 1], abs=0.2)


def test_what_leads_to_a_neck_that_carries_carries_too() -> None:
    found = necks(
        box(-1, -0.5, 0, 0.5),
        box(0, -0.15, 1, 0.15),
        box(1, -0.1, 2, 0.1),
        box(2, -0.15, 3, 0.15),
        box(3, -0.5, 4, 0.5),
    )

    assert found.carries.tolist() == [True] * 3
    assert sorted(found.width) == pytest.approx([0.2, 0.3, 0.3])
    assert found.length == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("pad", [(0.3, 1.5), (1.5, 0.3)], ids=["on its side", "on its end"])
def test_a_trace_between_pads_that_are_narrow_themselves_carries(pad: tuple[float, float]) -> None:
    x, y = pad[0] / 2, pad[1] / 2

    found = necks(box(-x, -y, x, y), box(4 - x, -y, 4 + x, y), track((0, 0), (4, 0)))

    traces = np.isclose(found.width, 0.2)
    assert found.carries[traces].tolist() == [True]
    assert not found.carries[~traces].any()


@pytest.mark.parametrize(
    ("pads", "carries"),
    [
        pytest.param([], False, id="no pad"),
        pytest.param([(0, 0)], False, id="the wide pad alone"),
        pytest.param([(0, 0), (3, 2)], True, id="a pad at its end"),
        pytest.param([(0, 0), (3, 1)], True, id="a pad before its end"),
        pytest.param([(0, 0), (3, 3)], False, id="a pad elsewhere"),
    ],
)
def test_a_trace_that_ends_in_a_pad_of_its_own_width_carries(
    pads: list[tuple[float, float]], carries: bool
) -> None:
    found = necks(disc(0, 0, 0.5), track((0, 0), (3, 0), (3, 2)), pads=pads)

    assert found.carries.tolist() == [carries]


@pytest.mark.parametrize("middle", [(0.0, 0.0), (0.0, 0.4)])
def test_a_narrow_pad_alone_carries_nothing_however_often_it_is_drawn(
    middle: tuple[float, float],
) -> None:
    found = necks(box(-0.15, -0.75, 0.15, 0.75), pads=[middle, middle, middle])

    assert found.carries.tolist() == [False]


def test_a_trace_between_two_pads_of_its_own_width_carries() -> None:
    found = necks(track((0, 0), (3, 0)), pads=[(0, 0), (3, 0)])

    assert found.carries.tolist() == [True]


def test_a_pad_hardly_wider_than_its_trace_counts_once() -> None:
    copper = [disc(0, 0, 0.12), track((0, 0), (3, 0))]

    assert necks(*copper, pads=[(0, 0)]).carries.tolist() == [False]
    assert necks(*copper, pads=[(0, 0), (3, 0)]).carries.tolist() == [True]


def test_two_traces_that_enter_a_pad_side_by_side_are_two_necks() -> None:
    found = necks(disc(0, 0, 0.5), track((0, 0), (3, 0.7)), track((0, 0), (3, -0.7)), disc(3, 0, 1))

    assert found.carries.tolist() == [True, True]


def test_a_narrow_ring_is_narrow_all_round_and_carries_nothing() -> None:
    found = necks(ring(1.0, 0.2))

    assert found.carries.tolist() == [False]
    assert found.width[0] == pytest.approx(0.2, abs=CHORD)
    assert found.length[0] == pytest.approx(2 * np.pi, abs=0.1)


def test_a_hairline_between_two_holes_carries() -> None:
    found = necks(box(-3, -3, 3, 3) - disc(-0.5, 0, 0.499) - disc(0.5, 0, 0.499))

    assert found.carries.tolist() == [True]
    assert found.width[0] == pytest.approx(0.002, abs=CHORD)


def test_copper_as_wide_as_the_reach_is_found_and_wider_is_not() -> None:
    copper = [box(0, 0, 1, 1), box(1, 0.3, 2, 0.55), box(2, 0, 3, 1)]

    assert len(necks(*copper, reach=0.25 + 1e-6)) == 1
    assert len(necks(*copper, reach=0.25 - 1e-6)) == 0


def test_a_reach_of_nothing_finds_nothing() -> None:
    found = necks(track((0, 0), (3, 0)), reach=0.0)

    assert len(found) == 0


def test_a_census_that_was_not_asked_for_has_no_rows() -> None:
    none = Necks.none()

    columns = (none.island, none.at, none.width, none.length, none.carries, none.object)
    assert [len(column) for column in columns] == [0] * 6


@pytest.mark.parametrize(("long", "narrow"), [(0.299, 0), (0.3, 1), (0.301, 1)])
def test_copper_of_one_and_a_half_widths_of_length_is_narrow(long: float, narrow: int) -> None:
    assert len(necks(box(0, 0, long, 0.2))) == narrow


def test_no_copper_has_no_necks() -> None:
    found = census_necks(Segments.of(np.array([], dtype=object)), REACH)

    assert len(found) == 0


def sheet() -> list[Any]:
    """One of everything, islands a few millimetres apart."""
    pads = shapely.union_all([disc(0, 0, 0.4), disc(3, 0, 0.4), disc(1.5, 2, 0.4)])
    net = [pads, track((0, 0), (3, 0)), track((1.5, 0), (1.5, 2), width=0.15)]
    bent = [disc(0, 0, 0.4), track((0, 0), (1, 0), (2, 1), (2, 3)), disc(2, 3, 0.4)]
    stub = [disc(0, 0, 0.5), track((0, 0), (1.5, 0.4), (2, 2), width=0.31)]
    holes = box(-2, -1, 2, 1) - disc(-0.5, -0.1, 0.42) - disc(0.5, 0.2, 0.45)
    islands = [shapely.union_all(group) for group in (net, bent, stub, [holes], [thermal()])]
    islands += [plus(), letter("K", 0.22), track((0, 0), (1.7, 0.3), width=0.24), disc(0, 0, 0.2)]
    return [affinity.translate(island, 7 * k, 3 * k) for k, island in enumerate(islands)]


def same(found: NeckRows, expected: NeckRows, at: Any, scale: float = 1.0) -> None:
    """Row by row, whatever their order, with the expected places moved to ``at``."""
    distance = np.hypot(*np.moveaxis(found.at[:, None] - np.asarray(at)[None], 2, 0))
    match = distance.argmin(0)
    assert sorted(match) == list(range(len(expected)))
    assert distance.min(0) == pytest.approx(0, abs=0.02 * scale)
    assert found.island[match].tolist() == expected.island.tolist()
    assert found.carries[match].tolist() == expected.carries.tolist()
    assert found.width[match] == pytest.approx(scale * expected.width, abs=1e-6)
    assert found.length[match] == pytest.approx(scale * expected.length, abs=0.05 * scale)


SHEET = sheet()
EXPECTED = census_necks(Segments.of(np.array(SHEET, dtype=object)), REACH)


@given(
    turn=st.floats(0, 360),
    mirrored=st.booleans(),
    scale=st.floats(1, 20),
    x=st.floats(-300, 300),
    y=st.floats(-300, 300),
)
@settings(max_examples=8, deadline=None)
def test_necks_go_with_the_copper_when_it_moves_turns_flips_or_grows(
    turn: float, mirrored: bool, scale: float, x: float, y: float
) -> None:
    c, s = scale * cos(radians(turn)), scale * sin(radians(turn))
    matrix = np.array([[-c, -s], [-s, c]] if mirrored else [[c, -s], [s, c]])
    moved = [affinity.affine_transform(island, [*matrix.ravel(), x, y]) for island in SHEET]

    found = census_necks(Segments.of(np.array(moved, dtype=object)), REACH * scale)

    same(found, EXPECTED, EXPECTED.at @ matrix.T + [x, y], scale)


@given(family=st.sampled_from(FAMILIES), seed=st.integers(0, 500))
@settings(max_examples=8, deadline=None)
def test_copper_elsewhere_changes_nothing(family: str, seed: int) -> None:
    more = [affinity.translate(island, 12, -30) for island in layout(family, seed)]

    found = census_necks(Segments.of(np.array(SHEET + more, dtype=object)), REACH)

    own = np.flatnonzero(found.island < len(SHEET))
    rows = NeckRows(*(getattr(found, name)[own] for name in NeckRows.__struct_fields__))
    same(rows, EXPECTED, EXPECTED.at)


def cores_left_joined(island: Any, at: Any, width: Any, least: float, margin: float) -> int:
    """How many lasting cores share a piece once every chord narrower than ``least`` is sawn."""
    cores = lasting_cores(island, least, margin)
    if len(cores) < 2:
        return 0
    narrow = np.flatnonzero(width < least)
    parts = pieces(island, [saw(island, at[row], width[row]) for row in narrow])
    held = [sum(core.representative_point().within(part) for core in cores) for part in parts]
    return sum(count - 1 for count in held if count > 1)


@pytest.mark.parametrize("seed", seeds(4, 16))
@pytest.mark.parametrize("family", FAMILIES)
def test_sawn_at_its_strips_copper_falls_into_pieces_no_neck_is_left_in(
    family: str, seed: int
) -> None:
    """By erosion: no piece holds two places 6 % wider than a width that parts the island."""
    islands: Sequence[Any] = layout(family, seed)
    segments = Segments.of(np.array(islands, dtype=object))
    chords = double_normals(segments, 0.34, inside=True)
    chords = chords.take(screen(segments, chords, 1e-3))
    island = segments.island[chords.i]
    strips = strips_of(chords, island)
    chords, island = chords.take(strips.narrowest), island[strips.narrowest]

    for k, copper in enumerate(islands):
        own = island == k
        for least in (0.11, 0.17, 0.23, 0.27, 0.33):
            joined = cores_left_joined(
                copper, chords.middle[own], chords.distance[own], least, 0.06 * least + 0.005
            )
            assert joined == 0, f"island {k} at {least}"


@pytest.mark.parametrize("seed", seeds(4, 16))
@pytest.mark.parametrize("family", FAMILIES)
def test_sawn_at_its_runs_copper_falls_into_pieces_with_one_pad_each(
    family: str, seed: int
) -> None:
    """By erosion: a run parts any two places of more than twice its width."""
    islands: Sequence[Any] = layout(family, seed)
    found = census_necks(Segments.of(np.array(islands, dtype=object)), 0.34)

    for k, copper in enumerate(islands):
        own = found.island == k
        for least in (0.11, 0.17, 0.23, 0.27, 0.33):
            joined = cores_left_joined(
                copper, found.at[own], found.width[own], least, (WIDE - 0.95) * least
            )
            assert joined == 0, f"island {k} at {least}"
