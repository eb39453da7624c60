"""Pads in pours, against arithmetic on round pads and a search along circles."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from checker.board import Kind
from checker.measure.copper.reliefs import _OFF, ERROR, WIDEST, reliefs_of
from tests.poured import board_with, relieved


@pytest.mark.parametrize("slot", [0.12, 0.2, 0.35, 0.8])
@pytest.mark.parametrize("spoke", [0.3, 0.6])
def test_slot_and_share_of_a_round_pad(slot: float, spoke: float) -> None:
    (told,) = reliefs_of(relieved(slot, spoke))

    radius = 0.8 + _OFF
    joined = 4 * 2 * math.asin(spoke / 2 / radius) / (2 * math.pi)
    assert told.slot == pytest.approx(slot, abs=ERROR)
    assert told.joined == pytest.approx(joined, abs=4 / 64)
    assert told.faced == pytest.approx(1 - joined, abs=6 / 64)
    assert told.copper == pytest.approx(400, rel=0.05)


def test_a_pad_within_a_pour_is_joined_all_round() -> None:
    plane = shapely.box(-5, -5, 5, 5)
    (told,) = reliefs_of(
        board_with([(Kind.POUR, plane, 0.0), (Kind.PAD, shapely.box(-1, -0.5, 1, 0.5), 0.0)])
    )

    assert told.joined.tolist() == [1.0]
    assert told.slot.tolist() == [np.inf]


@pytest.mark.parametrize("x", [0.0, 0.7, 12.34, 31.7])
def test_a_pad_just_wide_enough_for_a_lead_is_one_wherever_it_lies(x: float) -> None:
    disc, plane = shapely.Point(x, x).buffer(0.45, 64), shapely.box(-5, -5, 40, 40)

    (told,) = reliefs_of(board_with([(Kind.POUR, plane, 0.0), (Kind.PAD, disc, 0.0)]))

    assert len(told.pad) == 1


@pytest.mark.parametrize("turn", [0.0, 10.0, 33.0, 45.0, 61.0])
def test_a_pad_drawn_within_a_larger_one_up_to_its_edge_is_none_however_they_lie(
    turn: float,
) -> None:
    drawn = shapely.box(-5, -5, 5, 5), shapely.box(-1, -1, 1, 1), shapely.box(-1, -0.4, 1, 0.4)
    plane, larger, pad = (affinity.rotate(one, turn, origin=(0.3, 7.1)) for one in drawn)

    (told,) = reliefs_of(
        board_with([(Kind.POUR, plane, 0.0), (Kind.PAD, larger, 0.0), (Kind.PAD, pad, 0.0)])
    )

    assert told.pad.tolist() == [1]


def test_copper_of_another_net_is_no_slot() -> None:
    pad, neck = shapely.box(-1, -1, 1, 1), shapely.box(0.9, -0.2, 4, 0.2)
    plane = shapely.box(4, -4, 8, 4)
    other = shapely.box(-4, 1.1, 1.5, 2)
    (told,) = reliefs_of(
        board_with([(Kind.PAD, pad, 0.0), (Kind.POUR, plane | neck, 0.0), (Kind.POUR, other, 0.0)])
    )

    assert told.faced.tolist() == [0.0]


def test_a_slot_wider_than_any_relief_is_none() -> None:
    (told,) = reliefs_of(relieved(WIDEST + 0.2, 0.6))

    assert told.slot.tolist() == [np.inf]


@pytest.mark.parametrize("turn", [10.0, 33.0, 45.0])
def test_slot_of_a_turned_square_pad_is_the_gap_of_its_straight_sides(turn: float) -> None:
    """The oracle walks outward from the sides in steps and asks GEOS for copper."""
    pad, gap = shapely.box(-0.8, -0.8, 0.8, 0.8), 0.25
    plane = shapely.box(-6, -6, 6, 6) - shapely.box(-0.8 - gap, -0.8 - gap, 0.8 + gap, 0.8 + gap)
    spoke = shapely.box(-2, -0.25, 2, 0.25)
    pad, plane = (affinity.rotate(one, turn, origin=(0, 0)) for one in (pad, plane | spoke))

    (told,) = reliefs_of(board_with([(Kind.PAD, pad, 0.0), (Kind.POUR, plane, 0.0)]))

    outward = np.array([-math.sin(math.radians(turn)), math.cos(math.radians(turn))])
    start = 0.8 * outward + 0.5 * np.array([outward[1], -outward[0]])
    steps = np.arange(0.01, 1.0, 0.001)
    walked = start + steps[:, None] * outward
    met = steps[shapely.intersects_xy(plane, *walked.T)][0]
    assert told.slot == pytest.approx(met, abs=ERROR)
