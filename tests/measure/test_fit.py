"""Files that were moved on purpose: the motion found is the one that undoes what was done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board, Hole, Outline
from checker.measure.whole.fit import ERROR, FEWEST, NEAR, Match, Motion, fit_of
from checker.read import read_board
from tests.handmade import Copper, layer, square
from tests.read.made import BOARDS, needs_boards

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from checker.board import CopperLayer, Floats

    Change = Callable[[Floats], Floats]

# Leads of a small board, in no order that a mirror, a turn or a step would bring onto itself.
LEADS = (
    *((3.0, 2.0), (5.54, 2.0), (9.0, 14.0), (19.16, 14.0), (12.0, 5.5), (14.54, 5.5)),
    *((22.0, 3.0), (24.5, 8.0), (4.0, 11.0)),
)
CHANGES: dict[str, tuple[Change, str]] = {
    "mirrored in x": (lambda p: p * (-1, 1) + (27.0, 0), "mirrored left to right"),
    "mirrored in y": (lambda p: p * (1, -1) + (0, 16.0), "mirrored bottom to top"),
    "seen from below, origin kept": (lambda p: p * (-1, 1), "mirrored left to right"),
    "turned by 180": (lambda p: (27.0, 16.0) - p, "turned by 180 degrees"),
    "turned by 90": (lambda p: p[:, ::-1] * (-1, 1), "turned by 270 degrees"),
    "moved": (lambda p: np.add(p, (0.635, -1.27)), ""),
    "moved far": (lambda p: np.add(p, (100.0, 254.0)), ""),
    "inch read as mm": (lambda p: p / 25.4, ""),
    "mm read as inch": (lambda p: p * 25.4, ""),
    "digit too many": (lambda p: p / 10, ""),
    "digit too few": (lambda p: p * 10, ""),
}
each_change = pytest.mark.parametrize("change", CHANGES)


def copper(side: str, places: Floats, size: float = 1.8) -> CopperLayer:
    return layer(side, [(Copper(), square(x, y, size)) for x, y in places.tolist()])


def holes(places: Floats, diameter: float = 0.8, plated: bool | None = None) -> tuple[Hole, ...]:
    return tuple(
        Hole(((x, y),), diameter, plated, None, "d", i) for i, (x, y) in enumerate(places.tolist())
    )


def board(
    top: Sequence[Any] | None, bottom: Sequence[Any] | None, drilled: Sequence[Any] = ()
) -> Board:
    layers = [
        copper(side, np.array(places, float).reshape(-1, 2))
        for side, places in (("top", top), ("bottom", bottom))
        if places is not None
    ]
    return Board("b", (), tuple(layers), holes(np.array(drilled, float).reshape(-1, 2)))


def assert_undone(motion: Motion | None, places: Floats, changed: Floats) -> None:
    """The motion brings what was changed back to where it was."""
    assert motion is not None
    assert np.abs(motion.moved(changed) - places).max() <= ERROR * max(1.0, motion.scale)


@each_change
def test_holes_that_are_off_are_found_with_the_motion_that_mends_them(change: str) -> None:
    places, (how, turn) = np.array(LEADS), CHANGES[change]

    matches = fit_of(board(LEADS, LEADS, how(places).tolist())).matches

    assert [(match.what, match.on) for match in matches[:2]] == [
        ("holes", "top"),
        ("holes", "bottom"),
    ]
    for match in matches[:2]:
        assert match.motion is not None
        assert match.motion.turn == turn
        assert_undone(match.motion, places, how(places))


@each_change
def test_the_side_that_is_off_is_told_from_the_one_that_holes_agree_with(change: str) -> None:
    places, (how, _) = np.array(LEADS), CHANGES[change]
    given = board(LEADS, None, LEADS)
    size = 1.8 * {"inch read as mm": 1 / 25.4, "mm read as inch": 25.4}.get(change, 1.0)
    size *= {"digit too many": 0.1, "digit too few": 10}.get(change, 1.0)

    fit = fit_of(replace(given, copper=(*given.copper, copper("bottom", how(places), size))))

    top, bottom = fit.matches
    assert (top.share, top.motion) == (1.0, None)
    assert (bottom.what, bottom.on) == ("bottom", "holes")
    assert_undone(bottom.motion, places, how(places))


@each_change
def test_without_holes_the_pads_of_the_sides_are_compared(change: str) -> None:
    places, (how, _) = np.array(LEADS), CHANGES[change]
    given = board(LEADS, None)
    size = 1.8 * {"inch read as mm": 1 / 25.4, "mm read as inch": 25.4}.get(change, 1.0)
    size *= {"digit too many": 0.1, "digit too few": 10}.get(change, 1.0)

    (match,) = fit_of(
        replace(given, copper=(*given.copper, copper("bottom", how(places), size)))
    ).matches

    assert (match.what, match.on) == ("bottom", "top")
    assert_undone(match.motion, places, how(places))


spot = st.tuples(st.integers(0, 500), st.integers(0, 300)).map(lambda p: (p[0] / 10, p[1] / 10))


@settings(deadline=None, max_examples=20)
@given(
    st.lists(spot, min_size=12, max_size=60, unique=True),
    st.lists(spot, max_size=10),
    st.floats(-300, 300),
    st.floats(-300, 300),
)
def test_a_displacement_is_found_among_other_pads(
    leads: list[tuple[float, float]], surface: list[tuple[float, float]], dx: float, dy: float
) -> None:
    moved = np.add(leads, (dx, dy))

    (match,) = fit_of(board(None, [*leads, *surface], moved.tolist())).matches

    if match.motion is None:  # near enough, or the places are so regular that most still meet
        assert match.share > 0.2
    else:
        landed = np.array([leads + surface]) - match.motion.moved(moved)[:, None]
        on = (np.abs(landed).max(2) <= 0.1 + ERROR).any(1)
        assert on.mean() == pytest.approx(match.explained, abs=0.2)
        assert on.mean() > 0.8


@settings(deadline=None, max_examples=20)
@given(
    st.lists(spot, min_size=1, max_size=40, unique=True),
    st.lists(spot, max_size=10),
    st.lists(spot, max_size=10),
)
def test_files_that_fit_are_never_told_to_be_off(
    leads: list[tuple[float, float]],
    surface: list[tuple[float, float]],
    bare: list[tuple[float, float]],
) -> None:
    bare = bare[: len(leads) // 2]  # holes without pads, for screws and straps

    matches = fit_of(board([*leads, *surface], leads, [*leads, *bare])).matches

    assert [(match.motion, match.undecided) for match in matches] == [(None, "")] * 2


def test_a_symmetric_layout_is_not_called_mirrored() -> None:
    grid = [(2.54 * i, 2.54 * j) for i in range(6) for j in range(4)]
    mirrored = [(12.7 - x, y) for x, y in grid]

    (match,) = fit_of(board(None, grid, mirrored)).matches

    assert (match.share, match.motion, match.undecided) == (1.0, None, "")


def test_too_few_holes_decide_nothing() -> None:
    leads = LEADS[: FEWEST - 1]

    (match,) = fit_of(board(None, leads, [(-x, y) for x, y in leads])).matches

    assert match.motion is None
    assert match.undecided == "0 of 5 holes meet a pad of the bottom, too few to judge by"


def test_a_side_of_surface_pads_alone_stays_undecided_where_the_other_one_fits() -> None:
    row = [(2.54 * i, 0.0) for i in range(10)]
    surface = [(2.54 * i, 7.0) for i in range(10)]
    given = board(None, row, row)

    top = copper("top", np.array(surface), 0.6)
    first, second = fit_of(replace(given, copper=(top, *given.copper))).matches

    assert first.motion is None
    assert first.undecided.startswith("0 of 10 holes meet a pad of the top")
    assert second.share == 1.0


def test_mounting_holes_and_routed_paths_are_left_out() -> None:
    given = board(None, LEADS, LEADS)
    wide = holes(np.array([(50.0 + i, 50.0) for i in range(20)]), 3.2)
    path = Hole(((60.0, 1.0), (62.0, 1.0), (62.0, 9.0)), 1.0, None, None, "d", 1)

    fit = fit_of(replace(given, holes=(*given.holes, *wide, path)))

    assert (fit.holes, fit.matches[0].share) == (len(LEADS), 1.0)


def test_a_straight_slot_lies_where_its_middle_does() -> None:
    slots = tuple(Hole(((x - 2.0, y), (x + 2.0, y)), 0.8, None, None, "d", 1) for x, y in LEADS)

    (match,) = fit_of(replace(board(None, LEADS), holes=slots)).matches

    assert (match.count, match.share) == (len(LEADS), 1.0)


def box(x0: float, y0: float, x1: float, y1: float) -> Outline:
    return Outline(shapely.multipolygons([shapely.box(x0, y0, x1, y1)]), "p", "by hand")


@pytest.mark.parametrize(
    ("stray", "scale", "dx"),
    [
        (box(100, 0, 127, 16), 1.0, -99.75),
        (box(0, 0, 27 / 25.4, 16 / 25.4), 25.4, 0.25),
        (box(0, 0, 2.7, 1.6), 10.0, 0.25),
    ],
    ids=["beside", "inch read as mm", "digit too many"],
)
def test_an_edge_away_from_the_copper(stray: Outline, scale: float, dx: float) -> None:
    given = board(None, LEADS, LEADS)

    *_, match = fit_of(replace(given, stray_outline=stray)).matches

    assert (match.what, match.on, match.explained) == ("edge", "copper", 1.0)
    assert match.motion is not None
    assert match.motion.scale == scale
    assert match.motion.dx == pytest.approx(dx)


@pytest.mark.parametrize(("factor", "told"), [(25.4, True), (10, False), (1, False)])
def test_an_edge_far_too_wide_for_any_board(factor: float, told: bool) -> None:
    edge = box(0, 0, 27 * factor, 16 * factor)

    matches = fit_of(replace(board(None, LEADS, LEADS), outline=edge)).matches

    assert [match.what for match in matches] == ["holes"] + ["edge"] * told


def test_an_edge_of_another_form_is_not_called_moved() -> None:
    stray = box(100, 0, 110, 100)

    matches = fit_of(replace(board(None, LEADS, LEADS), stray_outline=stray)).matches

    assert [match.what for match in matches] == ["holes"]


# Open boards: data of others, of many layout programs.

QUICK = ("blinker", "hotpi", "librepcb-test", "precadsr-aux", "pwm555", "usbtinyisp-ss")
MORE = ("freeduino", "gyro-fritzing", "mainboard-diptrace", "stepper-geda", "snark-barker")


def changed(given: Board, what: str, how: Change) -> Board:
    """The holes or the last layer of a board changed."""
    if what == "holes":
        moved = tuple(
            replace(hole, path=tuple(map(tuple, how(np.array(hole.path))))) for hole in given.holes
        )
        return replace(given, holes=moved)
    last = given.copper[-1]
    objects = replace(last.objects, shape=shapely.transform(last.objects.shape, how))
    last = replace(last, objects=objects, islands=shapely.transform(last.islands, how))
    return replace(given, copper=(*given.copper[:-1], last))


@needs_boards
@pytest.mark.parametrize(
    "name", [*QUICK, *(pytest.param(name, marks=pytest.mark.long) for name in MORE)]
)
def test_open_boards_fit_and_show_what_is_done_to_them(name: str) -> None:
    given = read_board([BOARDS / name])
    places = np.array([hole.path[0] for hole in given.holes])

    assert all(match.motion is None and not match.undecided for match in fit_of(given).matches)

    x0, y0, x1, y1 = shapely.total_bounds(given.copper[-1].islands)
    changes: tuple[Change, ...] = (
        lambda p: p * (-1, 1) + (x0 + x1, 0),
        lambda p: p * (1, -1) + (0, y0 + y1),
        lambda p: np.add(p, (2.54, 0.0)),
        lambda p: p * 25.4,
        lambda p: p / 10,
    )
    for how in changes:
        for what in ("holes", "bottom")[: len(given.copper)]:
            off: Match = fit_of(changed(given, what, how)).matches[-1]

            assert off.what == what
            assert_undone(off.motion, places, how(places))


@pytest.mark.parametrize(
    ("other", "alike"),
    [
        (Motion(dx=1.0 + 2 * NEAR - 1e-6), True),
        (Motion(dx=1.0 + 2 * NEAR + 1e-6), False),
        (Motion(dx=1.0, dy=-1.0), False),
        (Motion(dx=1.0, scale=25.4), False),
        (Motion("turned by 180 degrees", dx=1.0), False),
    ],
)
def test_motions_are_alike_in_turn_and_scale_and_nearly_in_place(
    other: Motion, alike: bool
) -> None:
    assert Motion(dx=1.0).like(other) is alike


def test_without_holes_the_pads_said_to_have_one_are_compared() -> None:
    flat = [(x + 1.3, y + 0.7) for x, y in LEADS]
    both = board([*LEADS, *flat], LEADS)
    top, bottom = both.copper
    function = np.repeat([0, 1], len(LEADS))
    objects = replace(top.objects, function=function, names=("ComponentPad", "SMDPad,CuDef"))
    told = replace(both, copper=(replace(top, objects=objects), bottom))

    (match,) = fit_of(told).matches

    assert match.count == len(LEADS)
    assert match.share == 1.0
