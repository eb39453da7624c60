"""Holes as shapes: the path that a drill or a cutter takes, and what it takes away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from checker.board import Floats, Hole, Shapes


def paths_of(holes: Sequence[Hole]) -> Shapes:
    """(n,) the path of each hole, a Point or a LineString."""
    paths = np.empty(len(holes), object)
    round_ = np.array([not hole.is_slot for hole in holes], dtype=bool)
    paths[round_] = shapely.points(
        np.reshape([hole.path[0] for hole in holes if not hole.is_slot], (-1, 2))
    )
    paths[~round_] = [shapely.LineString(hole.path) for hole in holes if hole.is_slot]
    return paths


def means_of(holes: Sequence[Hole]) -> Floats:
    """(n, 2) the mean of the points of each hole's path."""
    points = np.reshape([point for hole in holes for point in hole.path], (-1, 2))
    count = np.array([len(hole.path) for hole in holes], dtype=np.int64)
    owner = np.repeat(np.arange(len(holes)), count)
    x, y = (np.bincount(owner, column, len(holes)) for column in points.T)
    return np.column_stack([x, y]) / count[:, None]


def drilled_of(holes: Sequence[Hole], quarter: Callable[[float], int]) -> Shapes:
    """(n,) what each hole takes away, a Polygon: ``quarter`` chords a quarter circle."""
    paths, shapes = paths_of(holes), np.empty(len(holes), object)
    radius = np.array([hole.diameter / 2 for hole in holes])
    for one in np.unique(radius).tolist():
        rows = radius == one
        shapes[rows] = shapely.buffer(paths[rows], one, quad_segs=quarter(one))
    return shapes
