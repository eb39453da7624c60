"""The virtual mill on boards whose answer is plain."""

import numpy as np
import pytest
import shapely

from tests.oracles.mill import Sheet, Tool

ENDS = [(0.0, 0.0, 0), (2.0, 0.0, 1)]


def flat(width: float, depth: float = 0.1) -> Tool:
    return Tool("flat", width, 0.0, depth, 0.035)


def level(sheet: Sheet, height: float = 0.0) -> np.ndarray:
    return np.full(sheet.surface(0.5).shape[:2], height)


def pads(gap: float) -> Sheet:
    """Two square pads side by side."""
    half = (2.0 - gap) / 2
    shapes = [shapely.box(-half, -half, half, half), shapely.box(2 - half, -half, 2 + half, half)]
    return Sheet(shapes, [0, 1], ENDS)


@pytest.mark.parametrize("gap", [0.2, 0.213, 0.25])
def test_straight_gap_opens_up_to_its_width(gap: float) -> None:
    sheet = pads(gap)

    assert sheet.faults(flat(gap - 0.001), level(sheet)) == set()
    assert sheet.faults(flat(gap + 0.001), level(sheet)) == {"joined"}


def test_round_pads_open_for_a_wider_cut() -> None:
    # Radius R, distance d: the cut w passes while w² <= 2 (w - d) (2 R + (w + d) / 2).
    radius, gap = 0.4, 0.2
    away = 2 * radius + gap
    shapes = [shapely.Point(x, 0).buffer(radius, quad_segs=200) for x in (0, away)]
    sheet = Sheet(shapes, [0, 1], [(0.0, 0.0, 0), (away, 0.0, 1)])
    widths = np.linspace(gap, gap + 0.1, 100_001)
    meets = widths**2 >= 2 * (widths - gap) * (2 * radius + (widths + gap) / 2)
    widest = float(widths[meets].max())

    assert sheet.faults(flat(widest - 0.002), level(sheet)) == set()
    assert "joined" in sheet.faults(flat(widest + 0.002), level(sheet))


def test_foil_stays_where_the_surface_lies_too_low() -> None:
    sheet = pads(0.5)

    assert sheet.faults(flat(0.2, depth=0.05), level(sheet, -0.014)) == set()
    assert "film" in sheet.faults(flat(0.2, depth=0.05), level(sheet, -0.016))


def test_neck_falls_where_the_cut_is_wider_by_its_width() -> None:
    shape = shapely.union_all(
        [shapely.box(-0.5, -0.5, 0.5, 0.5), shapely.box(1.5, -0.5, 2.5, 0.5),
         shapely.box(0, -0.03, 2, 0.03)]
    )  # fmt: skip
    sheet = Sheet([shape], [0], [(0.0, 0.0, 0), (2.0, 0.0, 0)])
    tool = Tool("cone", 0.1, 90.0, 0.1, 0.0)  # as high as the surface, 2 x that wider

    assert sheet.faults(tool, level(sheet, 0.029)) == set()
    assert sheet.faults(tool, level(sheet, 0.031)) == {"severed"}


@pytest.mark.parametrize("turn", [0.0, 0.5, 2.0])
def test_ring_breaks_where_the_hole_lies_farther_off_than_it_is_wide(turn: float) -> None:
    pad = shapely.Point(0, 0).buffer(0.5, quad_segs=200)
    sheet = Sheet([pad], [0], [], [(0.0, 0.0, 0.8)])
    way = np.array([[np.cos(turn), np.sin(turn)]])

    assert sheet.faults(flat(0.2), level(sheet), 0.099 * way) == set()
    assert sheet.faults(flat(0.2), level(sheet), 0.101 * way) == {"ring"}
