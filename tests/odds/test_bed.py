"""The bed's residual against the correlation it is said to have."""

import numpy as np
import pytest
import shapely

from checker.odds.bed import Axis, bed_of
from tests.layouts import board_of

DRAWS = 4000
WAVE = 10.0
BOX = (shapely.box(0, 0, 60, 40),)
BOARD = board_of(BOX, BOX)
# Four standard errors: of a variance sqrt(2 / n), of a correlation at most 1 / sqrt(n).
FAR = 4 / np.sqrt(DRAWS)


def test_field_has_unit_variance_everywhere() -> None:
    places = np.random.default_rng(3).uniform((0, 0), (60, 40), (200, 2))

    field = bed_of(BOARD, WAVE, DRAWS, 1).at(0, places)

    assert field.var(axis=0) == pytest.approx(1.0, abs=FAR * np.sqrt(2))
    assert field.mean(axis=0) == pytest.approx(0.0, abs=FAR)


@pytest.mark.parametrize("away", [0.0, 2.0, 5.0, 10.0, 15.0, 25.0])
@pytest.mark.parametrize("turn", [0.0, 0.6, 1.5])
def test_correlation_falls_as_a_bell_of_the_distance(away: float, turn: float) -> None:
    start = np.array([20.0, 5.0])
    end = start + away * np.array([np.cos(turn), np.sin(turn)])

    one, other = bed_of(BOARD, WAVE, DRAWS, 1).at(0, np.array([start, end])).T

    assert np.corrcoef(one, other)[0, 1] == pytest.approx(np.exp(-((away / WAVE) ** 2)), abs=FAR)


def test_nodes_carry_the_correlation_between_them() -> None:
    # No draws: the covariance that the modes have, against the one they are made for.
    axis = Axis.over(0.0, 60.0, WAVE)
    at = np.linspace(0, 60, 301)

    modes = axis.modes(at)

    wanted = np.exp(-(((at[:, None] - at) / WAVE) ** 2))
    assert modes @ modes.T == pytest.approx(wanted, abs=1e-4)


def test_sides_know_nothing_of_each_other() -> None:
    bed = bed_of(BOARD, WAVE, DRAWS, 1)
    place = np.array([[30.0, 20.0]])

    top, bottom = bed.at(0, place)[:, 0], bed.at(1, place)[:, 0]

    assert np.corrcoef(top, bottom)[0, 1] == pytest.approx(0.0, abs=FAR)


def test_lowest_is_that_along_the_edges() -> None:
    bed = bed_of(BOARD, WAVE, 300, 2)
    edge = shapely.segmentize(BOX[0], 0.2).exterior

    along = bed.at(0, shapely.get_coordinates(edge))

    off = bed.lowest[:, 0] - along.min(axis=1)
    assert abs(off.mean()) < 0.01
    assert off.std() < 0.05  # a cell is 1/24 wave wide, the field's slope 1.4 a wave
    where = bed.cells[0][bed.cell[:, 0]]
    assert shapely.distance(shapely.points(where), edge).max() < WAVE / 24


def test_board_of_many_waves_is_bounded() -> None:
    long = board_of((shapely.box(0, 0, 300, 1),), ())

    bed = bed_of(long, 5.0, 10, 1)

    assert len(bed.x.nodes) <= 24 * 3 + 3
