"""The vernier cut by an axis with play: it reads what the play is."""

from __future__ import annotations

from itertools import pairwise

import pytest

from checker.coupon.model import VERNIER, Point
from tests.coupon.made import built_in


def stroke(axis: str, name: str = "cone-30-0.1") -> tuple[Point, ...]:
    (found,) = (
        one for block in built_in(name).blocks if block.name == f"vernier {axis}"
        for one in block.strokes
    )  # fmt: skip
    assert found.file == VERNIER
    return found.points


def ticks(points: list[Point], play: float) -> list[tuple[float, float, float]]:
    """(drawn, cut, middle across) of every stretch that an axis stands still for.

    The axis lags behind by half of its play, on the side from which it came last.
    """
    found, came = [], 0.0
    for (x0, y0), (x1, y1) in pairwise(points):
        if abs(x1 - x0) > 1e-9:
            came = 1.0 if x1 > x0 else -1.0
        else:
            found.append((x0, x0 - came * play / 2, (y0 + y1) / 2))
    return found


def reading(points: list[Point], play: float) -> int:
    """Of the seven pairs of ticks the one that lines up best, counted from the middle."""
    cut = [tick for tick in ticks(points, play) if tick not in _ends(points, play)]
    half = sum(across for *_, across in cut) / len(cut)
    upper = sorted(tick for tick in cut if tick[2] > half)
    lower = sorted(tick for tick in cut if tick[2] < half)
    assert len(upper) == len(lower) == 7
    apart = [abs(a[1] - b[1]) for a, b in zip(upper, lower, strict=True)]
    assert min(apart) == pytest.approx(0, abs=1e-9)
    return apart.index(min(apart)) - 3


def _ends(points: list[Point], play: float) -> list[tuple[float, float, float]]:
    """The two stretches that join the rows."""
    least, most = min(x for x, _ in points), max(x for x, _ in points)
    return [tick for tick in ticks(points, play) if tick[0] in (least, most)]


@pytest.mark.parametrize("steps", [0, 1, 2, 3])
@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("axis", ["x", "y"])
def test_pair_that_lines_up_tells_the_play_whichever_way_round(
    axis: str, way: int, steps: int
) -> None:
    step = built_in("cone-30-0.1").vernier_step
    assert step is not None
    points = [point if axis == "x" else point[::-1] for point in stroke(axis)][::way]

    found = reading(points, steps * step)

    assert abs(found) == steps


@pytest.mark.parametrize("axis", ["x", "y"])
def test_it_is_one_closed_stroke(axis: str) -> None:
    assert stroke(axis)[0] == stroke(axis)[-1]
