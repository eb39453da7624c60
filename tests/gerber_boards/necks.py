"""Widths of necks, from text to number, against the erosion of the planned copper.

Parts of an island are the places where a disc of `PART` widths fits. Between two of them copper is
as narrow as the widest disc that still passes from one to the other: with the planned copper that
width is bisected by full erosion, with the copper as read it is the width of the neck whose chord,
when all necks are cut in the order of their widths, first parts the two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace

from checker.measure import Reach, measure
from tests.gerber_boards.images import SLACK
from tests.gerber_boards.truth import copper, pieces
from tests.gerber_boards.verdicts import SLIVER, board_of, held, truth_of
from tests.oracles.opening import bottlenecks, sawn_apart, wide_places

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.gerber_boards.plan import Plan

    Floats = NDArray[np.float64]

PART = 2.05
"""Copper this many times as wide as a neck is a part of its own, whatever the shape of a bend."""

WIDEST = (0.12, 0.18, 0.27, 0.4)
"""Necks up to each of these widths (mm) are looked for, between parts of `PART` times that."""

WITHIN = 0.005  # mm: what is off by more is another neck
_SAME = 3e-5  # mm: bisected widths of one neck are no farther apart


class NeckErrors(Struct):
    """Necks of some boards: claimed minus true width in mm, one for each true width.

    Attributes:
        errors: of necks whose chords part what the erosion parts.
        shared: of true necks between strips that branch, where one row, of about that width,
            stands for all of them.
        doubtful: how many hang on what the reader may draw either way: slits that it may fill,
            threads it may drop.
        wrong: necks that are none of these.
    """

    errors: list[float] = field(default_factory=list)
    shared: list[float] = field(default_factory=list)
    doubtful: int = 0
    wrong: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        um = 1e3 * np.array([0.0, *self.errors, *self.shared])
        return (
            f"{len(self.errors)} necks and {len(self.shared)} of branching strips, off by "
            f"{um.min():.2f} to {um.max():.2f} um, 99 in 100 by at most "
            f"{np.quantile(np.abs(um), 0.99):.2f} um, {len(self.wrong)} wrong, "
            f"{self.doubtful} with several right answers"
        )

    def add(self, plan: Plan) -> None:
        """Measure the first layer of a board; nothing where its truth is doubtful as a whole."""
        plan = replace(plan, bottom=(), holes=())
        truth = truth_of(plan)
        if truth.doubtful or not truth.islands:
            return
        board = board_of(plan)
        (necks,) = measure(board, Reach(cut=0.0, copper=WIDEST[-1] + 0.01)).necks
        match = held(board, truth)
        for true, ours in zip(match.true, match.ours, strict=True):
            island, read = truth.islands[true], board.copper[0].islands[ours]
            rows = np.flatnonzero((necks.island == ours) & necks.carries)
            at, width = necks.at[rows], necks.width[rows]
            known: list[float] = []
            for top in WIDEST:
                parts = [place for place in wide_places(island, PART * top) if read.covers(place)]
                if len(parts) > 1:
                    claimed = sawn_apart(read, parts, top, at, width)
                    self._judge(plan, island, parts, top, claimed, width, known)

    def _judge(
        self,
        plan: Plan,
        island: Any,
        parts: list[Any],
        top: float,
        claimed: Floats,
        rows: Floats,
        known: list[float],
    ) -> None:
        """Sort each true width at which some of the parts come apart, but those known already."""
        true = bottlenecks(island, parts, top)
        upper = np.triu(np.minimum(true, claimed) < top - WITHIN, 1) & (true > SLIVER)
        said, level = claimed[upper], np.round(true[upper], 7)
        rows = np.append(rows, np.inf)
        pushed: list[Floats] = []
        for one in np.unique(level):
            if any(abs(one - other) < _SAME for other in known):
                continue
            known.append(float(one))
            off = said[level == one] - one
            error = float(off[np.abs(off).argmax()])
            if abs(error) <= WITHIN:
                self.errors.append(error)
                continue
            nearest = float(rows[np.abs(rows - one).argmin()] - one)
            if error > 0 and abs(nearest) <= WITHIN:
                self.shared.append(nearest)
                continue
            pushed = pushed or [_pushed(plan, parts, top, slack) for slack in (-SLACK, SLACK)]
            least, most = pushed
            pairs = upper & (np.round(true, 7) == one)
            if ((least - WITHIN < claimed) & (claimed < most + WITHIN))[pairs].all():
                self.doubtful += 1
            else:
                self.wrong.append(f"neck of {one:.4f}, off by {1e3 * error:.1f} um: {plan}")


def _pushed(plan: Plan, parts: list[Any], top: float, slack: float) -> Floats:
    """(n, n) bottlenecks of the copper with all boundaries out or in; 0 between its pieces.

    With boundaries out, cracks that the reader may fill are filled.
    """
    drawn = copper(plan.top, plan.dialect.mm, slack)
    if slack > 0:
        drawn = drawn.buffer(SLIVER / 2).buffer(-SLIVER / 2)
    image = pieces(drawn)
    found = np.zeros((len(parts), len(parts)))
    piece, part = shapely.STRtree(parts).query(image, predicate="intersects")
    for k in np.unique(piece):
        own = part[piece == k]
        found[np.ix_(own, own)] = bottlenecks(image[k], [parts[i] for i in own], top)
    return found
