"""The checker against pixels of 2 um: which islands a cut joins, and how wide necks are."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from checker.measure import Reach, measure
from tests.layouts import FAMILIES, layout
from tests.oracles import pixels
from tests.oracles.pixels import (
    BAND,
    BOARDS,
    NAMES,
    PIXEL,
    Compared,
    rounded,
    window,
    window_of_board,
)
from tests.oracles.raster import Inside

needs_boards = pytest.mark.skipif(
    not BOARDS.is_dir(), reason="the folder of open boards is not beside the checkout"
)
TOP = 0.5  # mm: widest cut looked at where there is time


def compared(name: str, islands: list[shapely.Polygon], top: float) -> Compared:
    found = Compared()
    found.add(name, islands, top)
    return found


@pytest.mark.parametrize(("family", "seed"), [("ordinary", 3), ("webs", 1)])
def test_verdicts_and_necks_of_a_piece_of_a_layout_are_those_of_the_pixels(
    family: str, seed: int
) -> None:
    found = compared(family, window(layout(family, seed), (1.2, 1.2), 1.6), 0.25)

    assert found.wrong == []
    assert found.verdicts + len(found.necks)


def test_necks_of_pours_are_as_wide_as_on_the_pixels() -> None:
    found = Compared()

    for seed in (0, 4, 6, 7):
        found.add_necks(f"pours {seed}", window(layout("pours", seed), (1.2, 1.2), 1.8))

    assert found.wrong == []
    assert len(found.necks) == 5


@needs_boards
def test_verdicts_of_a_piece_of_an_open_board_are_those_of_the_pixels() -> None:
    found = compared("hotpi", window_of_board("hotpi", 3, 1.2), 0.25)

    assert found.wrong == []
    assert found.verdicts


@pytest.mark.long
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", range(8))
def test_verdicts_and_necks_of_layouts_are_those_of_the_pixels(family: str, seed: int) -> None:
    found = compared(f"{family} {seed}", rounded(layout(family, seed)), TOP)

    assert found.wrong == []


@needs_boards
@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("seed", range(8))
def test_verdicts_and_necks_of_windows_of_open_boards_are_those_of_the_pixels(
    name: str, seed: int
) -> None:
    found = compared(f"{name} {seed}", window_of_board(name, seed, 3.0), TOP)

    assert found.wrong == []


def bone(neck: float) -> shapely.Polygon:
    """Two squares of 0.8 mm and a bar between them."""
    ends = [shapely.box(x, 0, x + 0.8, 0.8) for x in (0, 1.6)]
    return shapely.union_all([*ends, shapely.box(0.5, 0.3, 2.0, 0.3 + neck)])


@pytest.mark.parametrize("neck", [0.05, 0.1003, 0.25])
def test_disc_passes_between_two_squares_up_to_the_width_of_the_bar(neck: float) -> None:
    inside = Inside(bone(neck), PIXEL)
    ends = [(0.4, 0.4), (2.0, 0.4)]

    assert inside.passes(ends, neck - BAND).all()
    assert not inside.passes(ends, neck + BAND)[0, 1]


def test_cut_claimed_too_wide_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    pair = [shapely.box(0, 0, 0.4, 0.4), shapely.box(0.6, 0, 1, 0.4)]
    assert compared("pair", pair, 0.25).wrong == []
    monkeypatch.setattr(pixels, "minimax", lambda *_: np.array([[0.0, 0.22], [0.22, 0.0]]))

    (wrong,) = compared("pair", pair, 0.25).wrong

    assert wrong == "pair: islands 0 and 1, cut 0.2143: claimed 0.2200"


def test_neck_that_is_not_told_is_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    found = Compared()
    monkeypatch.setattr(pixels, "measure", lambda board, _: measure(board, Reach(0.0, 0.1)))

    found.add_necks("bone", [bone(0.15)])

    assert found.wrong == ["bone: island 0: neck of 0.1521 claimed to be 0.2000"]
