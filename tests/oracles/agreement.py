"""How far claimed merge widths are from those of the full closing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct

from tests.oracles.closing import Arcs, Merges, merges, minimax

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


class Claim(Struct, frozen=True):
    """Places a census found on one layer: (m, 2) pairs of islands, each with its widest cut."""

    pairs: Any
    widths: Any

    def merge_widths(self, n: int) -> Floats:
        """(n, n) width from which on each pair of n islands is joined."""
        return minimax(n, self.pairs, self.widths)


class Disagreement(Struct, frozen=True):
    """A pair of islands whose claimed merge width is out of bounds whatever the arc error."""

    islands: tuple[int, int]
    claimed: float
    low: float
    high: float

    @property
    def error(self) -> float:
        """How far beyond the truth: positive for a missed joint, negative for a false alarm."""
        if self.claimed > self.high:
            return self.claimed - self.high
        return min(0.0, self.claimed - self.low)

    def __str__(self) -> str:
        return (
            f"islands {self.islands[0]} and {self.islands[1]} merge at {self.low:.4f} to "
            f"{self.high:.4f}, claimed {self.claimed:.4f}: {1e3 * self.error:+.1f} um"
        )


def disagreements(
    islands: Sequence[Any], claim: Claim, top: float, bite: float, late: float, early: float
) -> list[Disagreement]:
    """Pairs whose claim is above the truth by more than ``late`` or below by more than ``early``.

    First the closing is tried just outside the bounds of every claimed merge, which proves most
    layouts right at two closings a merge. What that leaves is bisected with arcs rounded both
    ways, so that whatever is returned is wrong beyond the error of the oracle itself. Widths at or
    above ``top`` count as ``top``.
    """
    claimed = np.minimum(claim.merge_widths(len(islands)), top)
    levels = np.unique(claimed[(claimed > 0) & (claimed < top)])
    tries = np.concatenate([levels - late, levels + early, [top - late]])
    found = merges(islands, top, bite, tolerance=np.inf, tries=tries)
    if not _unproved(claimed, found, top, late, early).any():
        return []
    generous = merges(islands, top, bite, 1e-4, tries, Arcs.GENEROUS)
    sparing = merges(islands, top, bite, 1e-4, tries, Arcs.SPARING)
    low, high = np.minimum(generous.low, top), np.minimum(sparing.high, top)
    wrong = (claimed - high > late) | (low - claimed > early)
    return [
        Disagreement((int(i), int(j)), float(claimed[i, j]), float(low[i, j]), float(high[i, j]))
        for i, j in np.argwhere(np.triu(wrong))
    ]


def _unproved(claimed: Floats, found: Merges, top: float, late: float, early: float) -> Any:
    """(n, n) pairs for which the brackets do not prove the claim within bounds."""
    slack = 1e-9
    low, high = np.minimum(found.low, top), np.minimum(found.high, top)
    return (claimed - low > late + slack) | (high - claimed > early + slack)


class Score(Struct, frozen=True, eq=False):
    """One layout: errors of its merge widths and verdicts at given widths.

    Attributes:
        errors: (k,) claimed minus true merge width, one a merge, the worst of its pairs.
        verdicts: how many widths were asked.
        wrong: at how many of them the groups differ, none of the widest cuts within 2 um.
    """

    errors: Floats
    verdicts: int
    wrong: int


def score(
    islands: Sequence[Any], claim: Claim, top: float, bite: float, widths: Iterable[float]
) -> Score:
    """Errors and verdicts of a claim against merge widths bisected to 0.1 um."""
    claimed = np.minimum(claim.merge_widths(len(islands)), top)
    levels = np.unique(claimed[(claimed > 0) & (claimed < top)])
    asked = [width for width in widths if 2 * bite < width < top]
    tries = np.concatenate([levels - 5e-4, levels + 5e-4, asked])
    found = merges(islands, top, bite, 1e-4, tries)
    wrong = sum(
        bool(((claimed < width) != found.joined(width)).any())
        for width in asked
        if np.abs(np.asarray(claim.widths) - width).min(initial=np.inf) > 2e-3
    )
    true = np.minimum(found.width, top)
    i, j = np.nonzero(np.triu((true < top) | (claimed < top), 1))
    errors: list[float] = []
    event = np.round(true[i, j], 7)
    for level in np.unique(event):
        off = (claimed - true)[i, j][event == level]
        errors.append(float(off[np.abs(off).argmax()]))
    return Score(np.array(errors), len(asked), wrong)
