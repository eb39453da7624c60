"""What copper files draw, each parted into islands: one by one, or by two processes at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.errors import ReadError
from checker.read.gerber import parse_gerber

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from checker.board import DrawnObjects, FileEnd, Ints, Note, Shapes
    from checker.read.package import SourceFile

MOST_CORNERS = 3_000_000  # of all drawn copper; the largest board met has 1.6 million


class Drawing(Struct, frozen=True, eq=False):
    """What a copper file draws.

    Attributes:
        name: of the file.
        tolerance: bound in mm on the distance between a drawn and a true boundary.
        negative: whether it says of itself that it shows what is cleared.
        notes: what the reader ignored or guessed.
        end: of the file.
        objects: dark and clear.
        islands: as `checker.read.gerber.flatten` has them.
        island_of: (len(objects),) the island of each object, -1 for none.
        remarks: what was left out or closed on the way to the islands, in words.
        doubts: why the file may hold more than was read, in words.
    """

    name: str
    tolerance: float
    negative: bool
    notes: tuple[Note, ...]
    end: FileEnd
    objects: DrawnObjects
    islands: Shapes
    island_of: Ints
    remarks: tuple[str, ...]
    doubts: tuple[str, ...] = ()

    @property
    def corners(self) -> int:
        """Of all shapes."""
        return int(shapely.get_num_coordinates(self.objects.shape).sum())


def draw(text: str, name: str) -> Drawing:
    """What the text of a file draws.

    Raises:
        ReadError: it can't be read or drawn.
    """
    file = parse_gerber(text, name)
    remarks: list[str] = []
    islands, island_of = file.islands(remarks.append)
    return Drawing(
        name,
        file.tolerance,
        file.attributes.get("FilePolarity", ("",))[:1] == ("Negative",),
        file.notes,
        file.end,
        file.objects,
        islands,
        island_of,
        tuple(remarks),
        (*file.doubts, *_widthless(file.objects)),
    )


def _widthless(objects: DrawnObjects) -> Iterator[str]:
    """A doubt where draws or flashes leave no copper: nobody draws a trace without width."""
    drawn = objects.dark & ~shapely.is_missing(objects.spine)
    lost = np.flatnonzero(drawn & shapely.is_empty(objects.shape))
    if len(lost):
        yield (
            f"traces or pads drawn with no width, the first in line {objects.line[lost[0]]}: no "
            "copper is there; look at the sizes of the apertures"
        )


def drawn_by_both(
    files: Iterable[SourceFile],
    meanwhile: Callable[[], None],
    then: Callable[[], None] = lambda: None,
) -> dict[tuple[str, str], Drawing]:
    """What files draw, by name and text, each drawn by whichever of two processes is free.

    Those that can't be drawn are left out, and what comes after more corners than a board may
    have: who draws it next will tell.

    Args:
        files: that draw copper.
        meanwhile: what this process does first, while the other one draws.
        then: what it does at last, while the other one still draws.
    """
    from checker.hands import Hands

    files = sorted(files, key=lambda file: -len(file.text))
    corners = 0

    def answer(number: int, _: None) -> Drawing | None:
        nonlocal corners
        if corners > MOST_CORNERS:
            return None
        try:
            drawing = draw(files[number].text, files[number].name)
        except ReadError:
            return None
        corners += drawing.corners
        return drawing

    jobs = range(len(files))
    with Hands(answer, jobs, there=jobs[:1]) as hands:
        found = hands.ask(None, jobs, first=meanwhile, last=then)
    return {
        (files[number].name, files[number].text): drawing
        for number, drawing in found.items()
        if drawing is not None
    }
