"""Whether the copper that is read lies within the reader's tolerance of the planned one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from checker.read.gerber import TOLERANCE, flatten, parse_gerber
from checker.read.gerber.strokes import CRACK
from tests.gerber_boards.text import files
from tests.gerber_boards.truth import copper

if TYPE_CHECKING:
    from tests.gerber_boards.plan import Plan

SLACK = TOLERANCE + 0.0003
"""The reader's bound, and what the chords of the truth stay inside circles of 1 mm."""

THIN = 1.5 * TOLERANCE + 0.0001
"""Copper that an erosion by this empties may be dropped."""


def out_of_bounds(plan: Plan) -> list[str]:
    """Where a layer has copper beyond all boundaries pushed out, or lacks some with all pushed in.

    Cracks between strokes and thin holes may be filled and slivers dropped, as the reader says.
    """
    texts, mm = files(plan), plan.dialect.mm
    found = []
    for k, marks in enumerate(plan.sides):
        islands, _ = flatten(parse_gerber(texts[f"copper{k}.gbr"], "layer.gbr").objects)
        read = shapely.union_all(islands)
        extra = read.difference(copper(marks, mm, SLACK)).buffer(-CRACK / 2 - 0.0001)
        lacking = copper(marks, mm, -SLACK).difference(read).buffer(-THIN)
        found += [f"layer {k}, too much: {extra.wkt}"] * (not extra.is_empty)
        found += [f"layer {k}, too little: {lacking.wkt}"] * (not lacking.is_empty)
    return found
