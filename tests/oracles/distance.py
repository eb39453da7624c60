"""Distances by brute force: every vertex of one outline against every edge of the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def edges(island: Any) -> tuple[Floats, Floats]:
    """(m, 2) starts and ends of the edges of all rings."""
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(island)]
    return (
        np.concatenate([ring[:-1] for ring in rings]),
        np.concatenate([ring[1:] for ring in rings]),
    )


def to_edges(points: Any, island: Any) -> Floats:
    """(n,) distance of each point to the island's outline."""
    start, end = edges(island)
    along = end - start
    off = np.asarray(points, dtype=float)[:, None, :] - start[None]
    square = np.maximum((along * along).sum(1), 1e-300)
    t = np.clip((off * along[None]).sum(2) / square, 0, 1)
    nearest: Floats = np.hypot(*np.moveaxis(off - t[..., None] * along[None], 2, 0)).min(axis=1)
    return nearest


def gap_between(one: Any, other: Any) -> float:
    """Distance between two islands that do not overlap."""
    return float(min(to_edges(edges(one)[0], other).min(), to_edges(edges(other)[0], one).min()))


def beyond(one: Any, other: Any, distance: float) -> int:
    """How many corners of one set of outlines lie farther than this from the other's edges."""
    start, end = (np.concatenate(ends) for ends in zip(*map(edges, other), strict=True))
    tree = shapely.STRtree(shapely.linestrings(np.stack([start, end], axis=1)))
    corners = shapely.points(np.unique(shapely.get_coordinates(one), axis=0))
    found = tree.query_nearest(corners, return_distance=True, all_matches=False)
    return int((found[1] > distance).sum())
