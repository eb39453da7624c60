"""How the whole numbers of a drill file are meant, where its header does not say: what fits.

Each way to read them is tried; the one in which the holes land on copper and spread over it is
right. The header comes first: where it is complete it is kept, and a note warns if another way
fits far better. Common practice in hobby CAM; checked on 32 drill files of open boards.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Note
from checker.errors import ReadError
from checker.read.excellon import INCH, NumberFormat
from checker.read.machine import drill_holes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Floats
    from checker.read.excellon import DrillFile, Header

GOOD = 0.9  # share of holes on copper that settles a number format
POOR = 0.5  # share below which a stated format is doubted
SPREAD = 0.5  # part of the copper's extent that the holes must span, in x and in y
_SAMPLE = 400  # holes looked at
_FIRST = 5_000  # of the first so many of each file

# (whole, fraction) with trailing zeros kept: only the fraction matters; with leading zeros kept:
# only the whole digits do. The first of each unit is what IPC-NC-349 names.
_DIGITS: dict[float, tuple[tuple[int, int], ...]] = {
    INCH: ((2, 4), (3, 5), (2, 3), (2, 5), (3, 6)),
    1.0: ((3, 3), (4, 2), (4, 4), (3, 5), (2, 6)),
}


class Copper(Struct, frozen=True, eq=False):
    """What holes may land on: islands of all layers, flashed pads, and their common box."""

    tree: shapely.STRtree
    box: tuple[float, float, float, float]

    @classmethod
    def of(cls, islands: Sequence[NDArray[np.object_]]) -> Copper | None:
        """From the islands of each layer; None where there are none."""
        every = np.concatenate([*islands, np.empty(0, object)])
        if not len(every):
            return None
        shapely.prepare(every)
        x0, y0, x1, y1 = shapely.total_bounds(every)
        return cls(shapely.STRtree(every), (float(x0), float(y0), float(x1), float(y1)))

    def share(self, points: Floats, radius: Floats, spread: float) -> float:
        """The share of holes that touch copper; 0 where they do not spread over it.

        Args:
            points: (n, 2) centres in mm.
            radius: (n,) in mm. A pad may be drawn as a ring: copper at the hole's edge counts.
            spread: part of the copper's extent that the holes must span, in x and in y.
        """
        if not len(points):
            return 0.0
        x0, y0, x1, y1 = self.box
        span = points.max(0) - points.min(0)
        if not (span >= spread * np.array([x1 - x0, y1 - y0])).all():
            return 0.0
        step = max(1, len(points) // _SAMPLE)
        points, radius = points[::step], radius[::step]
        reach = np.minimum(radius, 2.0) + 0.02
        grid = shapely.points(points)
        boxes = shapely.box(*(points - reach[:, None]).T, *(points + reach[:, None]).T)
        hole, island = self.tree.query(boxes)
        on = shapely.dwithin(self.tree.geometries[island], grid[hole], reach[hole])
        return float(len(np.unique(hole[on])) / len(grid))


def choose(
    files: Sequence[DrillFile], copper: Copper | None
) -> tuple[dict[str, NumberFormat], list[Note]]:
    """The number format of each drill file.

    Files whose headers say the same are judged together, so that a file of four mounting holes
    is read as its larger sister is.

    Raises:
        ReadError: the unit is not stated, and no way to read the file lands on copper.
    """
    formats: dict[str, NumberFormat] = {}
    notes: list[Note] = []
    groups: dict[Header, list[DrillFile]] = {}
    for file in files:
        if file.drills and file.sized:
            groups.setdefault(file.header, []).append(file)
    for group in groups.values():
        numbers, texts = _judge(group, copper)
        for file in group:
            formats[file.name] = numbers
            notes += [Note(file.name, 0, text) for text in texts]
    return formats, notes


def _judge(group: Sequence[DrillFile], copper: Copper | None) -> tuple[NumberFormat, list[str]]:
    header = group[0].header
    ways = _ways(group)
    first = ways[0]
    complete = header.unit is not None and all(_settled(file) for file in group)
    if copper is None:
        if header.unit is None:
            raise _no_unit(group[0])
        return first, [] if complete else [f"number format not stated: read as {first}"]
    score = _score(group, first, copper, 0.0 if complete else SPREAD)
    if score >= GOOD and header.unit is not None:
        return first, []
    scores = [_score(group, way, copper, SPREAD) for way in ways]
    if not any(scores):  # few holes in one corner
        scores = [_score(group, way, copper, 0.0) for way in ways]
    best = int(np.argmax(scores))
    if complete:
        if score >= POOR or scores[best] < GOOD:
            return first, []
        return first, [
            f"read as {first} as its header says, but {_percent(scores[best])} of its holes land "
            f"on copper as {ways[best]} and only {_percent(score)} this way"
        ]
    if scores[best] < POOR:
        if header.unit is None:
            raise _no_unit(group[0])
        best = 0
    text = f"number format not stated: read as {ways[best]}"
    return ways[best], [f"{text}, which lands {_percent(scores[best])} of its holes on copper"]


def _settled(file: DrillFile) -> bool:
    """Whether the header says how each of the file's coordinates is meant, but for the unit."""
    header = file.header
    if not file.whole_numbers:
        return True
    if header.whole is None or header.fraction is None:
        return False
    full = header.whole + header.fraction  # with all zeros written, which are kept is no question
    return header.leading is not None or file.digits == (full, full)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _no_unit(file: DrillFile) -> ReadError:
    return ReadError(
        file.name,
        "states no unit, and its holes land on no copper in inch or mm",
        "INCH or METRIC in the header",
        "export it again with a header, or leave it out with --layer ignore=FILE",
    )


def _ways(group: Sequence[DrillFile]) -> list[NumberFormat]:
    """The ways a group can be read, the header's or the usual one first."""
    header = group[0].header
    whole_numbers = any(file.whole_numbers for file in group)
    longest = max(file.digits[1] for file in group)
    units = [header.unit] if header.unit is not None else [INCH, 1.0]
    hints = [file.suppressed for file in group if file.suppressed is not None]
    leading = [bool(hints) and all(hints) if header.leading is None else header.leading]
    ways: list[NumberFormat] = []
    for unit in [*units, *(u for u in (INCH, 1.0) if u not in units)]:
        usual = _DIGITS[unit]
        if header.whole is not None and header.fraction is not None:
            usual = ((header.whole, header.fraction), *usual)
        elif longest > 6:  # all zeros kept: the number of digits is that of the format
            usual = tuple(sorted(usual, key=lambda d: abs(sum(d) - longest)))
        for zeros in [*leading, *(z for z in (False, True) if z not in leading)]:
            ways += [NumberFormat(unit, *digits, zeros) for digits in usual]
        if not whole_numbers:
            ways = ways[:1] if header.unit is not None else [*ways[:1], *ways[-1:]]
    return list(dict.fromkeys(ways))


def _score(group: Sequence[DrillFile], way: NumberFormat, copper: Copper, spread: float) -> float:
    try:
        holes = [hole for file in group for hole in drill_holes(file, way, most=_FIRST)]
    except ReadError:
        return 0.0
    points = np.array([hole.path[0] for hole in holes]).reshape(-1, 2)
    return copper.share(points, np.array([hole.diameter / 2 for hole in holes]), spread)
