"""All drill files of a board to holes, routed contours and very large holes."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace

from checker import plural
from checker.board import Hole, Kind, Note, Unchecked
from checker.errors import ReadError
from checker.read.crossings import crossings, is_crowded, pairs_within
from checker.read.excellon import NumberFormat, parse_drill
from checker.read.gerber import parse_gerber
from checker.read.machine import MOST, drill_holes
from checker.read.outline import SNAP
from checker.read.registration import Copper, choose
from checker.read.remarks import Remarks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import DrawnObjects, Shapes
    from checker.read.roles import Identified

LARGE = 30.0  # mm; no drill is that wide: the file means a cut-out
SAME = 0.01  # mm within which two files name one hole
MOST_PAIRS = 1_000_000  # of holes that near to each other
MOST_CONTOURS = 1_000
MOST_CROSSINGS = 20_000  # of a routed path with itself
CUT_OFF = "no end of program (M30): the file may be cut off; export or copy it again"


class Drilling(Struct):
    """What the drill files give.

    Attributes:
        contours: (file, closed LineString) of routed paths that leave material inside.
        drawings: files that turned out to be drawings of holes, not holes.
    """

    holes: list[Hole] = field(default_factory=list)
    contours: list[tuple[str, shapely.LineString]] = field(default_factory=list)
    drawings: set[str] = field(default_factory=set)
    notes: list[Note] = field(default_factory=list)
    unchecked: list[Unchecked] = field(default_factory=list)


def read_drilling(items: Sequence[Identified], islands: Sequence[Shapes]) -> Drilling:
    """Read the drill files, in Excellon or Gerber format.

    Args:
        items: files with role "drill".
        islands: copper of each layer, on which whole-number coordinates are registered.

    Raises:
        ReadError: a drill file that cannot be understood, or holes without a size.
    """
    found = Drilling()
    every: list[Hole] = []
    excellon = [item for item in items if item.file.format == "drill"]
    files = [parse_drill(item.file.text, item.file.name) for item in excellon]
    silent = any(file.header.unit is None or file.whole_numbers for file in files)
    formats, notes = choose(files, Copper.of(islands) if silent else None)
    found.notes += notes
    for item, file in zip(excellon, files, strict=True):
        found.notes += file.notes
        if not file.ended:
            found.unchecked.append(_rest(file.name, CUT_OFF))
        said = item.role.plated if item.role is not None else None
        if file.plated is not None and said not in (None, file.plated):
            text = f"says {'plated' if file.plated else 'unplated'}, {item.evidence} the reverse"
            found.notes.append(Note(file.name, 0, f"{text}: the file's word holds"))
        # Where no tool has a size, nothing but routed paths of unknown width can pass.
        holes = drill_holes(file, formats.get(file.name, NumberFormat(1.0, 3, 3)), said)
        every += holes
        _check_count(every, file.name)
        if file.unsized:
            tools = ", ".join(f"T{number:02d}" for number in file.unsized)
            found.unchecked.append(
                Unchecked(f"slots of {file.name}", f"the file gives no size for {tools}")
            )
        elif not holes:
            found.notes.append(Note(file.name, 0, "drills nothing"))
    for item in items:
        if item.file.format == "gerber":
            every += _gerber_holes(item, found)
            _check_count(every, item.file.name)
    _sort_out(_once(every, found), found)
    return found


def _rest(name: str, doubt: str) -> Unchecked:
    """What a drill file may hold beyond what was read."""
    return Unchecked(f"the rest of {name}", doubt)


def _check_count(holes: Sequence[Hole], name: str) -> None:
    if sum(len(hole.path) for hole in holes) > MOST:
        raise ReadError(name, f"with it more than {MOST} holes and points of paths")


def _gerber_holes(item: Identified, found: Drilling) -> list[Hole]:
    """A drill file in Gerber format: flashes are holes, draws are slots."""
    file = parse_gerber(item.file.text, item.file.name)
    found.notes += file.notes
    found.unchecked += [_rest(item.file.name, doubt) for doubt in file.doubts]
    objects = file.objects
    flashed = shapely.get_type_id(objects.spine) == shapely.GeometryType.POINT
    mostly_flashed = bool(flashed.any()) and flashed.mean() >= 0.5
    # Where only its name says drill, it may be the drawing that shows the holes.
    if item.rank > 2 and (not mostly_flashed or (objects.kind == Kind.POUR).any()):
        found.drawings.add(item.file.name)
        found.notes.append(Note(item.file.name, 0, "a drawing of the holes; not read as holes"))
        return []
    plated = item.role.plated if item.role is not None else None
    holes = []
    remarks = Remarks()
    for row in np.flatnonzero(objects.dark):
        hole = _gerber_hole(objects, int(row))
        if hole is None:
            remarks.add(int(objects.line[row]), "a region in a drill file; left out")
        else:
            holes.append(replace(hole, plated=plated, source=item.file.name))
    found.notes += remarks.notes(item.file.name)
    return holes


def _gerber_hole(objects: DrawnObjects, row: int) -> Hole | None:
    spine = objects.spine[row]
    function = objects.name(objects.function, row)
    line = int(objects.line[row])
    if spine is None:
        return None
    if spine.geom_type == "LineString" and objects.pen[row] > 0:
        path = tuple((float(x), float(y)) for x, y in shapely.get_coordinates(spine))
        return Hole(path, float(objects.pen[row]), None, function, "", line)
    # A flash may be long: an oblong aperture is a slot along its longer side.
    x0, y0, x1, y1 = objects.shape[row].bounds
    x, y, half = (x0 + x1) / 2, (y0 + y1) / 2, abs((x1 - x0) - (y1 - y0)) / 2
    width = min(x1 - x0, y1 - y0)
    if half < 0.005:
        return Hole(((x, y),), width, None, function, "", line)
    dx, dy = (half, 0.0) if x1 - x0 > y1 - y0 else (0.0, half)
    return Hole(((x - dx, y - dy), (x + dx, y + dy)), width, None, function, "", line)


def _once(holes: list[Hole], found: Drilling) -> list[Hole]:
    """Leave out what a second file names again; some exporters list vias twice.

    Of the two only one may say what the hole is for.
    """
    if len({hole.source for hole in holes}) < 2:
        return holes
    points = shapely.points([hole.path[0] for hole in holes])
    pairs = pairs_within(points, reach=SAME, most=MOST_PAIRS)
    if pairs is None:
        raise ReadError(holes[0].source, "holes that stand on each other without bound")
    again: dict[int, str] = {}
    holes = list(holes)
    for a, b in zip(*(side.tolist() for side in pairs), strict=True):
        if a < b and a not in again and _is_same(holes[a], holes[b]):
            again[b] = holes[b].source
            holes[a] = replace(holes[a], function=holes[a].function or holes[b].function)
    for source in dict.fromkeys(again.values()):
        twice = plural.count(list(again.values()).count(source), "hole")
        found.notes.append(Note(source, 0, f"in another file too, read once: {twice}"))
    return [hole for i, hole in enumerate(holes) if i not in again]


def _is_same(a: Hole, b: Hole) -> bool:
    """Whether two files name one hole: each rounds in its own number format."""
    if a.source == b.source or len(a.path) != len(b.path):
        return False
    apart = max(hypot(p[0] - q[0], p[1] - q[1]) for p, q in zip(a.path, b.path, strict=True))
    return apart <= SAME and abs(a.diameter - b.diameter) <= 2 * SAME


def _sort_out(holes: list[Hole], found: Drilling) -> None:
    """Part routed contours and very large holes from holes and slots."""
    large = 0
    for hole in holes:
        if hole.diameter > LARGE and not hole.is_slot:
            ring = shapely.Point(hole.path[0]).buffer(hole.diameter / 2, quad_segs=64).exterior
            found.contours.append((hole.source, shapely.LineString(ring)))
            large += 1
        elif hole.plated is not True and _leaves_inside(hole):
            found.contours.append((hole.source, shapely.LineString(hole.path)))
        else:
            found.holes.append(hole)
        if len(found.contours) > MOST_CONTOURS:
            raise ReadError(hole.source, f"more than {MOST_CONTOURS} closed routed paths")
    if large:
        text = f"taken as cut-outs: {plural.count(large, 'hole')} wider than {LARGE:.0f} mm"
        found.notes.append(Note(found.contours[0][0], 0, text))


def _leaves_inside(hole: Hole) -> bool:
    """Whether a routed path closes and a piece of material comes out of it."""
    (x0, y0), (x1, y1) = hole.path[0], hole.path[-1]
    if len(hole.path) < 4 or hypot(x1 - x0, y1 - y0) > SNAP:
        return False
    path = shapely.LineString(hole.path)
    if is_crowded(np.array(hole.path)) and crossings(path) > MOST_CROSSINGS:
        raise ReadError(
            f"{hole.source}:{hole.line}",
            "a routed path that crosses itself without bound",
            f"{MOST_CROSSINGS} crossings at most",
        )
    inside = shapely.Polygon(hole.path).buffer(0).buffer(-hole.diameter / 2)
    return not inside.is_empty
