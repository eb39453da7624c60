"""Copper that is too narrow already, and so gives nothing; corners are not.

What is too narrow is told by what lies within twice the least width. So it is looked for in boxes,
where they cover but a part of the copper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.clipping import clipped
from checker.relief.ways import Box, grown, merged, size

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Ints, Shapes

_ROUND = 0.001  # mm by which rounded corners are no loss
_CORNER = 0.4  # of the radius that rounds it, what is left of a corner is within this
_MARGIN = 2.0  # least widths
_MOST = 0.5  # of its area, what boxes may cover of the copper; it is looked at whole else


def thin_in(
    islands: Shapes, least: float, boxes: Sequence[Box] | None = None
) -> tuple[Shapes, Ints]:
    """Copper narrower than the least width, mm, in pieces, and the row of the island of each.

    Args:
        islands: the copper.
        least: width, mm.
        boxes: what lies outside of them all may be missing, and be more than there is.
    """
    if boxes is None:
        return _thin(islands, np.arange(len(islands)), least)
    boxes = merged([grown(box, _MARGIN * least) for box in boxes])
    if size(boxes) > _MOST * shapely.area(islands).sum():
        return _thin(islands, np.arange(len(islands)), least)
    tree, found = shapely.STRtree(islands), []
    for box in boxes:
        rows = np.sort(tree.query(shapely.box(*box)))
        copper = shapely.make_valid(clipped(islands[rows], box))
        parts, part = shapely.get_parts(copper, return_index=True)
        found.append(_thin(parts, rows[part], least))
    return np.concatenate([shapes for shapes, _ in found]), np.concatenate([of for _, of in found])


def _thin(copper: Shapes, owner: Ints, least: float) -> tuple[Shapes, Ints]:
    radius = least / 2 - _ROUND
    wide = shapely.buffer(shapely.buffer(copper, -radius), radius + _ROUND)
    thin = shapely.difference(copper, wide)
    strips = shapely.buffer(shapely.buffer(thin, -_CORNER * radius), _CORNER * radius)
    shapes, row = shapely.get_parts(strips, return_index=True)
    return shapes, owner[row]
