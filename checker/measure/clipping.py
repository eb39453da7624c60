"""What of shapes lies in a box, whatever they look like."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence


def clipped(shapes: Any, box: Sequence[float]) -> Any:
    """One shape or an array of them, cut off at the sides of a box; may be invalid.

    The fast way of GEOS gives up on a sliver of which it keeps two corners ("Invalid number of
    points in LinearRing", met with one 1e-14 mm wide, GEOS 3.14). Those go the slow way.
    """
    try:
        return shapely.clip_by_rect(shapes, *box)
    except shapely.errors.GEOSException:
        if np.ndim(shapes):
            column = np.empty(len(shapes), dtype=object)
            column[:] = [clipped(shape, box) for shape in shapes]
            return column
        valid = shapely.make_valid(shapes, method="structure", keep_collapsed=False)
        return shapely.intersection(valid, shapely.box(*box))
