"""Verdicts and necks of the checker against pixels of 2 um, on layouts and windows of open boards.

What joins islands is asked of the pixels a band below and a band above the widest cuts that the
checker claims, so that each of them is held to the band. Where what two sweeps leave runs out to a
cusp between copper, pixels leave more than there is: what they say otherwise is asked again of
pixels half as large. Widths of necks are bisected on pixels.

python -m tests.oracles.pixels [layouts per family] [windows per open board] [first seed]
"""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct, field

from checker.measure import Reach, measure
from checker.read import read_board
from tests.layouts import FAMILIES, board_of, layout
from tests.oracles.closing import minimax
from tests.oracles.opening import narrowest, sawn_apart, wide_places
from tests.oracles.raster import Inside, Raster

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.measure import Gaps

PIXEL = 0.002
BAND = 2 * np.sqrt(2) * PIXEL  # mm: two diagonals of a pixel
ROUND = 0.01  # mm: radius of the sharpest corners; tips end between two pixel centres
BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
NAMES = ("hotpi", "openbci-cyton", "snark-barker", "mppt-2420", "stepper-geda", "freeduino")
PART = 2.05  # copper so many times as wide as a neck is a part of its own
NARROW = (0.12, 0.2, 0.34)  # mm: necks are looked for up to each of these
LEVELS = 3  # widest cuts that are looked at, of each layout


class Compared(Struct):
    """What was asked of pixels, and what they say otherwise.

    Attributes:
        verdicts: pairs of islands at a width, all outside the band of what is claimed of the pair.
        close: those of them within two bands of what is claimed.
        necks: claimed minus found width of necks, mm; where one row stands for strips that branch,
            of the row nearest in width.
        wrong: what differs by more than the band.
    """

    layouts: int = 0
    verdicts: int = 0
    close: int = 0
    necks: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        um = 1e3 * np.array([0.0, *self.necks])
        return (
            f"{self.layouts} layouts, {self.verdicts} verdicts on pairs, {self.close} of them "
            f"within two bands; {len(self.necks)} necks, off by {um.min():.2f} to "
            f"{um.max():.2f} um; {len(self.wrong)} wrong"
        )

    def add(self, name: str, islands: Sequence[Any], top: float) -> None:
        """Compare one layout; cuts up to ``top`` mm wide."""
        (gaps,) = measure(board_of(islands), Reach(cut=top + BAND, copper=0.0)).gaps
        self._gaps(name, islands, gaps, top)
        self.add_necks(name, islands)

    def _gaps(self, name: str, islands: Sequence[Any], gaps: Gaps, top: float) -> None:
        claimed = minimax(len(islands), gaps.islands, gaps.widest_cut[0.0])
        levels = np.unique(claimed[(claimed > 2 * ROUND) & (claimed < top - 2 * BAND)])
        some = Random(name).sample(levels.tolist(), min(LEVELS, len(levels)))
        raster = Raster(islands, PIXEL, top)
        pairs = np.triu(np.ones_like(claimed, dtype=bool), 1)
        for width in (level + side * BAND * 1.001 for level in some for side in (-1, 1)):
            joined = raster.joined(width)
            off = np.abs(claimed - width)
            asked = pairs & (off > BAND)
            self.verdicts += int(asked.sum())
            self.close += int((asked & (off < 2 * BAND)).sum())
            other = asked & (joined != (claimed < width))
            if other.any():
                other &= Raster(islands, PIXEL / 2, top).joined(width) != (claimed < width)
            for i, j in np.argwhere(other):
                self.wrong.append(
                    f"{name}: islands {i} and {j}, cut {width:.4f}: claimed {claimed[i, j]:.4f}"
                )

    def add_necks(self, name: str, islands: Sequence[Any]) -> None:
        """Compare the necks of one layout alone."""
        self.layouts += 1
        (necks,) = measure(board_of(islands), Reach(cut=0.0, copper=NARROW[-1] + 0.01)).necks
        for k, island in enumerate(islands):
            rows = np.flatnonzero((necks.island == k) & necks.carries)
            inside: Inside | None = None
            known: list[float] = []
            for top in NARROW:
                parts = wide_places(island, PART * top)
                if len(parts) < 2:
                    continue
                inside = inside or Inside(island, PIXEL)
                width = necks.width[rows]
                claimed = sawn_apart(island, parts, top, necks.at[rows], width)
                self._widths(f"{name}: island {k}", inside, parts, top, claimed, width, known)

    def _widths(
        self,
        name: str,
        inside: Inside,
        parts: Sequence[Any],
        top: float,
        claimed: Any,
        rows: Any,
        known: list[float],
    ) -> None:
        points = shapely.get_coordinates(parts)
        found = narrowest(lambda width: inside.passes(points, width), len(parts), top, PIXEL / 8)
        rows = np.append(rows, np.inf)
        told = np.triu(np.minimum(claimed, found) < top - BAND, 1) & (found > ROUND)
        for said, true in sorted(set(zip(claimed[told], found[told], strict=True))):
            if any(abs(true - other) < PIXEL for other in known):
                continue
            known.append(true)
            nearest = rows[np.abs(rows - true).argmin()]
            error = said - true if said - true <= BAND else nearest - true
            if abs(error) <= BAND:
                self.necks.append(float(error))
            else:
                self.wrong.append(f"{name}: neck of {true:.4f} claimed to be {said:.4f}")


def rounded(islands: Iterable[Any]) -> list[Any]:
    """Islands whose corners and notches are no sharper than a radius of five pixels.

    What comes too near to another one by that is left out.
    """
    kept: list[Any] = []
    for island in islands:
        shape = island
        for way in (ROUND, -2 * ROUND, ROUND):
            shape = shape.buffer(way, quad_segs=8)
        for part in shapely.get_parts(shape):
            if not part.is_empty and all(part.distance(other) > 2 * ROUND for other in kept):
                kept.append(shapely.orient_polygons(part))
    return kept


def window(islands: Sequence[Any], middle: tuple[float, float], size: float) -> list[Any]:
    """What of some islands lies in a square, rounded."""
    x, y = middle
    square = shapely.box(x - size / 2, y - size / 2, x + size / 2, y + size / 2)
    return rounded(shapely.intersection(np.array(islands, dtype=object), square))


def window_of_board(name: str, seed: int, size: float) -> list[Any]:
    """Islands in a square about some corner of the copper of an open board, on one of its sides."""
    random = Random(f"{name} {seed}")
    layers = [layer for layer in _board(name).copper if layer.side in ("top", "bottom")]
    islands = list(random.choice(layers).islands)
    middle = random.choice(shapely.get_coordinates(random.choice(islands)).tolist())
    return window(islands, (middle[0], middle[1]), size)


def _board(name: str) -> Any:
    return read_board([BOARDS / name])


def main(layouts: int = 4, windows: int = 4, first: int = 0) -> None:
    """Print the count after each family of layouts and each open board."""
    compared = Compared()
    for family in FAMILIES:
        for seed in range(first, first + layouts):
            compared.add(f"{family} {seed}", rounded(layout(family, seed)), 0.5)
        print(f"to {family}: {compared}", flush=True)
    for name in NAMES if BOARDS.is_dir() else ():
        for seed in range(first, first + windows):
            compared.add(f"{name} {seed}", window_of_board(name, seed, 3.0), 0.5)
        print(f"to {name}: {compared}", flush=True)
    print(*compared.wrong, sep="\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
