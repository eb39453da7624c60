"""Component layers: what a part's body covers, where it sits and how it is mounted.

In a component layer a flash of function ComponentMain stands for a part and carries its data; its
outlines are closed lines of consecutive draws, of one or several kinds (Gerber layer format,
table of aperture functions and section on component data). The centre line is the outline.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from checker.board import Note, Part

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.board import DrawnObjects, Floats

_MAIN = "ComponentMain"
_OUTLINE = "ComponentOutline"
_BODY = f"{_OUTLINE},Body"
# Where there is no courtyard, what comes next to it; a bare outline says nothing more.
_ROOM = (f"{_OUTLINE},Courtyard", f"{_OUTLINE},Footprint", f"{_OUTLINE},Lead2Lead", _OUTLINE)
_MOUNTS = {"th": "through hole", "pressfit": "through hole", "smd": "surface"}
_FEW = 5  # names in a note


class _Found:
    """One part while its objects are gathered."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.at: tuple[float, float] | None = None
        self.lines: dict[str, list[Floats]] = {}


def read_parts(
    objects: DrawnObjects, mounts: Mapping[str, str], side: str, source: str
) -> tuple[list[Part], list[Note]]:
    """The parts of one component layer.

    A part without a main flash is placed at the middle of its outline; one without an outline
    has no body. A name that comes again, as in a panel, is another part.

    Args:
        objects: what the layer draws.
        mounts: component -> value of .CMnt.
        side: "top" or "bottom".
        source: what notes call the file.
    """
    found, nameless = _gather(objects)
    notes = []
    if nameless:
        text = f"left out what names no component: {nameless} of its flashes and outlines"
        notes.append(Note(source, 0, text))
    parts, rough = [], []
    for one in found:
        outlines = {kind: _outline(lines) for kind, lines in one.lines.items()}
        if not all(closed for _, closed in outlines.values()):
            rough.append(one.name)
        body = outlines.get(_BODY, (None, True))[0]
        room = next((outlines[kind][0] for kind in _ROOM if kind in outlines), None)
        at = one.at or _middle(body if body is not None else room)
        if at is None:
            continue
        mount = mounts.get(one.name)
        word = None if mount is None else _MOUNTS.get(mount.lower(), "other")
        parts.append(Part(one.name, side, *at, body, room, word))
    if rough:
        more = f" and {len(rough) - _FEW} more" if len(rough) > _FEW else ""
        text = f"outline of {', '.join(rough[:_FEW])}{more} is no closed line: its hull is taken"
        notes.append(Note(source, 0, text))
    return parts, notes


def _gather(objects: DrawnObjects) -> tuple[list[_Found], int]:
    """Parts in file order with their lines, and how many objects name no part."""
    code = {index: name for index, name in enumerate(objects.names) if name.startswith(_OUTLINE)}
    main = objects.names.index(_MAIN) if _MAIN in objects.names else len(objects.names)
    wanted = objects.dark & np.isin(objects.function, [main, *code])
    named = wanted & (objects.component >= 0)
    found: list[_Found] = []
    last: dict[int, _Found] = {}
    for row in np.flatnonzero(named).tolist():
        component, function = int(objects.component[row]), int(objects.function[row])
        part = last.get(component)
        if part is None or (function == main and part.at is not None):
            part = last[component] = _Found(objects.names[component])
            found.append(part)
        if function == main:
            spine = objects.spine[row]
            middle = objects.shape[row].centroid if spine is None else spine.centroid
            part.at = None if middle.is_empty else (middle.x, middle.y)
        else:
            line = objects.shape[row] if objects.spine[row] is None else objects.spine[row]
            if isinstance(line, Polygon):
                line = line.exterior
            part.lines.setdefault(code[function], []).append(shapely.get_coordinates(line))
    return found, int((wanted & ~named).sum())


def _outline(lines: list[Floats]) -> tuple[Polygon | None, bool]:
    """What lines enclose, and whether they are one closed line; if not, it is their hull."""
    if len(lines) == 1 and len(lines[0]) >= 4 and (lines[0][0] == lines[0][-1]).all():
        ring = shapely.polygons(lines[0])
        if shapely.is_valid(ring):
            return ring, True
    hull = shapely.convex_hull(shapely.multipoints(np.concatenate(lines)))
    return (hull, False) if isinstance(hull, Polygon) else (None, False)


def _middle(outline: Polygon | None) -> tuple[float, float] | None:
    if outline is None:
        return None
    return float(outline.centroid.x), float(outline.centroid.y)
