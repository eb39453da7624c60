"""Slots that a cut does not fit, on shapes whose slots are known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from checker.board import Board, Kind
from checker.measure.boundary.minima import facing
from checker.measure.boundary.segments import Segments
from checker.measure.copper import slots
from checker.measure.copper.slots import ERROR, slots_of
from tests.handmade import Copper, layer

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Shapes

CUT = 0.2
LEAST = 4.0


def board(*islands: shapely.Polygon) -> Board:
    copper = [(Copper(Kind.TRACE, f"N{i}"), island) for i, island in enumerate(islands)]
    return Board("b", (), (layer("top", copper),))


def slit(width: float, long: float) -> shapely.Polygon:
    """A plate of 20 by 10 with a slit from its right edge."""
    return shapely.box(0, 0, 20, 10) - shapely.box(20 - long, 5 - width / 2, 21, 5 + width / 2)


@pytest.mark.parametrize(("width", "stays"), [(0.12, 1), (0.19, 1), (0.21, 0), (0.5, 0)])
def test_a_slit_stays_closed_where_the_cut_does_not_fit(width: float, stays: int) -> None:
    assert len(slots_of(board(slit(width, 8.0)), CUT, LEAST)) == stays


def test_a_slit_is_as_wide_and_long_as_drawn_and_the_way_round_twice_that() -> None:
    found = slots_of(board(slit(0.12, 8.0)), CUT, LEAST)

    assert found.length.tolist() == pytest.approx([8.0], abs=0.2)
    assert found.width.tolist() == pytest.approx([0.12], abs=ERROR)
    assert found.way.tolist() == pytest.approx([16.0], abs=0.4)
    assert found.at[0].tolist() == pytest.approx([16.0, 5.0], abs=0.1)
    assert found.copper.tolist() == pytest.approx([2 * (200 - 0.96) / (60 + 16.0)], rel=0.01)


def test_round_an_open_ring_the_way_is_its_inner_rim() -> None:
    ring = shapely.box(-10, -10, 10, 10) - shapely.box(-4, -4, 4, 4)
    ring = ring - shapely.box(3, -0.05, 11, 0.05)

    found = slots_of(board(ring), CUT, LEAST)

    assert found.length.tolist() == pytest.approx([6.0], abs=0.2)
    # At the outer end the way along either rim: 2 x 6 in and out and 32 round, less than 80.
    assert found.way.tolist() == pytest.approx([44.0], abs=0.5)


def test_a_short_slit_is_left_out() -> None:
    assert len(slots_of(board(slit(0.12, 3.0)), CUT, LEAST)) == 0


@pytest.mark.parametrize(("long", "count"), [(0.6, 0), (0.9, 1), (1.5, 1)])
def test_a_slit_is_found_from_whatever_length_is_asked_for(long: float, count: int) -> None:
    assert len(slots_of(board(slit(0.12, long)), CUT, 0.8)) == count


def test_copper_of_another_net_in_the_slit_is_left_to_the_rules_on_gaps() -> None:
    within = shapely.box(13.0, 4.98, 19.0, 5.02)

    assert len(slots_of(board(slit(0.12, 8.0), within), CUT, LEAST)) == 0


def test_two_islands_have_no_slot_of_their_own_between_them() -> None:
    low, high = shapely.box(0, 0, 20, 5), shapely.box(0, 5.1, 20, 10)

    assert len(slots_of(board(low, high), CUT, LEAST)) == 0


# --- against the closing of all the copper, and for many cuts at once --------------------------


@st.composite
def serpentines(draw: st.DrawFn) -> shapely.Polygon:
    """A track that goes to and fro, its legs and the slots between them all different."""
    legs = draw(st.lists(st.tuples(st.integers(1, 9), st.integers(2, 30)), min_size=2, max_size=7))
    pen, turned = draw(st.integers(3, 12)) / 20, draw(st.sampled_from([0, 30, 45, 90, 137]))
    x, points = 0.0, []
    for number, (slot, long) in enumerate(legs):
        ends = [(x, 0.0), (x, long * 0.5)]
        points += ends if number % 2 == 0 else ends[::-1]
        x += pen + slot * 0.05
    track = shapely.LineString(points).buffer(pen / 2, cap_style="flat", join_style="mitre")
    return shapely.get_parts(affinity.rotate(track, turned, origin=(0, 0)))[0]


def filled(island: shapely.Polygon, cut: float) -> list[float]:
    """Lengths of what a cut cannot reach, from the definition."""
    closed = island.buffer(cut / 2, 32).buffer(-cut / 2 - 1e-4, 32)
    return [part.length / 2 for part in shapely.get_parts(closed - island)]


@settings(max_examples=15, deadline=None)
@given(serpentines(), st.sampled_from([0.07, 0.12, 0.22, 0.41]))
def test_slots_are_what_closing_all_the_copper_fills(track: shapely.Polygon, cut: float) -> None:
    found = slots_of(board(track), cut, LEAST).length

    told = sorted(length for length in filled(track, cut) if length > LEAST + 0.2)
    sure = sorted(found[found > LEAST + 0.4].tolist())
    assert len(found) >= len(told)
    assert all(np.min(np.abs(found - length)) < 0.1 for length in told)
    assert all(min(abs(length - one) for one in told) < 0.1 for length in sure)


@settings(max_examples=15, deadline=None)
@given(serpentines(), st.sampled_from([0.07, 0.12, 0.22]), st.sampled_from([0.0, 3.0, 10.0]))
def test_a_wider_reach_finds_the_same_slots(
    track: shapely.Polygon, cut: float, squares: float
) -> None:
    made = board(track)
    near, far = slots_of(made, cut, LEAST, squares), slots_of(made, cut, LEAST, squares, reach=0.9)

    assert np.sort(near.at, axis=0) == pytest.approx(np.sort(far.at, axis=0), abs=0.05)
    assert sorted(near.width) == pytest.approx(sorted(far.width), abs=1e-3)
    assert sorted(near.way) == pytest.approx(sorted(far.way), abs=0.6)


def test_slots_of_little_way_round_in_widths_of_the_copper_are_left_out() -> None:
    made = board(slit(0.12, 8.0))

    # 16 mm round it, and copper of 5.2 mm on the average.
    assert len(slots_of(made, CUT, LEAST, squares=3.0)) == 1
    assert len(slots_of(made, CUT, LEAST, squares=3.2)) == 0


# --- where walls stand close together ----------------------------------------------------------


def teeth(count: int) -> shapely.Polygon:
    """A wheel whose teeth get finer the more there are of them."""
    angle = np.pi * np.arange(2 * count) / count
    radius = np.where(np.arange(2 * count) % 2, 8.0, 10.0)
    return shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))


def asked(count: int, monkeypatch: pytest.MonkeyPatch) -> int:
    """Of how many pairs of walls it is asked at cost whether copper lies between them."""
    lines = []

    def watched(islands: Shapes, a: Floats, b: Floats) -> NDArray[np.bool_]:
        lines.append(len(a))
        return clear(islands, a, b)

    clear = slots._clear
    with monkeypatch.context() as patch:
        patch.setattr(slots, "_clear", watched)
        slots_of(board(teeth(count)), CUT, LEAST)
    return sum(lines)


def test_many_teeth_are_not_asked_each_with_each(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four times as many, and as many times more within reach of each: 16 times the pairs."""
    assert asked(1200, monkeypatch) < 7 * asked(300, monkeypatch)


@settings(max_examples=10, deadline=None)
@given(
    st.one_of(
        st.integers(100, 600).map(teeth),
        st.lists(st.integers(20, 90), min_size=20, max_size=200).map(
            lambda radii: shapely.make_valid(
                shapely.Polygon(
                    [
                        (r / 10 * np.cos(2 * np.pi * k / len(radii)), r / 10 * np.sin(k))
                        for k, r in enumerate(radii)
                    ]
                )
            )
        ),
    )
)
def test_only_walls_with_copper_in_between_are_dropped(shape: shapely.Geometry) -> None:
    parts = shapely.get_parts(shape)
    islands = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    segments = Segments.of(shapely.segmentize(islands, 0.5))
    ring = segments.ring
    for near in facing(
        segments,
        0.3,
        lambda i, j: ring[i] == ring[j],
        lambda runs, i, j: runs.ring[i] == runs.ring[j],
    ):
        dropped = near.take(slots._walled_off(segments, near))

        assert not slots._clear(islands, dropped.a, dropped.b).any()
