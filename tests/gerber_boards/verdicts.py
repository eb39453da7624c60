"""What the checker says of a board read from text, against the closing of the plan's copper.

All copper of a board in truth is numbered through its layers; a verdict is which of these pieces
are one: by design, through holes, or because a cut leaves them joined.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.engine import reach_for
from checker.exact import tie
from checker.isolation import Fate, fates, joined_nets, parts_nets
from checker.measure import Reach, measure
from checker.read import read_package
from checker.read.package import Package, SourceFile, board_format
from tests.gerber_boards.images import SLACK
from tests.gerber_boards.text import files
from tests.gerber_boards.truth import axis, copper, pieces
from tests.handmade import cutting
from tests.oracles.closing import equivalence, joined, merges, minimax, residual

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board
    from checker.measure import Facts
    from tests.gerber_boards.plan import Plan

    Bools = NDArray[np.bool_]

WITHIN = 0.002  # mm: so near to a critical width either answer is right
SLIVER = 0.0052  # mm: copper nowhere wider may be dropped by the reader, cracks no wider filled
THREAD = 0.003  # mm: copper that holds together by no more may be read as several pieces
DOUBT = 0.002  # mm: a hole whose middle or rim is so near to an edge may or may not meet copper
SIDES = ("top", "bottom")
RING = 0.01  # mm: a hole off all copper of a layer meets what is so near to its rim


def board_of(plan: Plan) -> Board:
    """The board as the reader has it from the plan's texts."""
    texts = files(plan)
    return read_package(
        Package(
            "random",
            tuple(SourceFile(name, board_format(text), text) for name, text in texts.items()),
            (),
        )
    )


class Truth(Struct, frozen=True, eq=False):
    """Copper of all layers in truth; the islands of layer k are ``split[k]``.

    Attributes:
        islands: (n,) polygons.
        split: a slice for each layer.
        design: (n, n) which of them are one by design.
        doubtful: whether a sliver or a hole at an edge leaves more than one right answer.
    """

    islands: list[Any]
    split: list[slice]
    design: Bools
    doubtful: bool

    def joined(self, width: float) -> Bools:
        """(n, n) which islands are one after a cut of this width, by full closing."""
        n = len(self.islands)
        together = self.design.copy()
        for part in self.split:
            if part.stop > part.start:
                together[part, part] |= joined(self.islands[part], width)
        return equivalence(n, *np.nonzero(together))


def truth_of(plan: Plan) -> Truth:
    """The islands of a plan's layers and what holes join, built from the plan alone."""
    mm = plan.dialect.mm
    islands: list[Any] = []
    split = []
    for marks in plan.sides:
        found = pieces(copper(marks, mm))
        split.append(slice(len(islands), len(islands) + len(found)))
        islands += found
    doubtful = any(_is_doubtful(islands[part]) for part in split)
    first, second = [], []
    for hole in plan.holes if plan.plated else ():
        line, radius = axis(hole, mm), hole.size * mm / 2
        met: list[int] = []
        for part in split:
            own = islands[part]
            far = np.array([line.distance(island) for island in own])
            rim = np.array([line.distance(island.boundary) for island in own])
            on = np.flatnonzero(far == 0)
            if not len(on):
                on = np.flatnonzero(far <= radius + RING)
                doubtful |= bool((np.abs(far - radius - RING) < DOUBT).any())
            crossed = [line.intersects(island.buffer(-DOUBT)) for island in own]
            doubtful |= bool(((rim < DOUBT) & ~np.array(crossed, dtype=bool)).any())
            met += (on + part.start).tolist()
        first += met[:1] * (len(met) - 1)
        second += met[1:]
    return Truth(islands, split, equivalence(len(islands), first, second), doubtful)


def _is_doubtful(islands: list[Any]) -> bool:
    """Whether islands of a layer are slivers, hang together by a thread, or all but touch."""
    grown = shapely.union_all([island.buffer(SLIVER / 2) for island in islands])
    return (
        len(pieces(grown)) < len(islands)
        or any(island.buffer(-SLIVER / 2).is_empty for island in islands)
        or any(len(pieces(island.buffer(-THREAD / 2))) > 1 for island in islands)
    )


def surely_joined(plan: Plan, truth: Truth, width: float, slack: float) -> Bools:
    """(n, n) as `Truth.joined` of the copper drawn with all boundaries out or in by the slack."""
    n = len(truth.islands)
    together = truth.design.copy()
    deep = [shapely.maximum_inscribed_circle(i, 1e-3).coords[0] for i in truth.islands]
    for marks, part in zip(plan.sides, truth.split, strict=True):
        pushed = pieces(copper(marks, plan.dialect.mm, slack))
        if pushed and part.stop > part.start:
            rest = residual(pushed, width)
            piece, island = shapely.STRtree(shapely.points(deep[part])).query(
                rest, predicate="intersects"
            )
            count = part.stop - part.start
            together[part, part] |= equivalence(count, island, piece + count)
    return equivalence(n, *np.nonzero(together))


class Held(Struct, frozen=True, eq=False):
    """Which of our islands holds which island of the truth: rows (ours, true), numbered through."""

    ours: NDArray[np.int64]
    true: NDArray[np.int64]
    first: NDArray[np.int64]

    def together(self, truth: Truth, pairs: Any) -> Bools:
        """(n, n) islands of the truth that pairs of ours link; ours are one where they overlap."""
        n = len(truth.islands)
        pairs = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
        one = np.concatenate([self.true, pairs[:, 0] + n])
        other = np.concatenate([self.ours + n, pairs[:, 1] + n])
        return equivalence(n, one, other)


def held(board: Board, truth: Truth) -> Held:
    """Match what was read with the truth, by what of each true island is not at its edge."""
    ours, true = [], []
    first = np.cumsum([0, *(len(layer.islands) for layer in board.copper)])
    for layer, start in zip(board.copper, first, strict=False):
        part = truth.split[SIDES.index(layer.side)]
        cores = shapely.buffer(np.array(truth.islands[part], dtype=object), -SLIVER / 2)
        if len(cores) and len(layer.islands):
            core, island = shapely.STRtree(layer.islands).query(cores, predicate="intersects")
            true.append(core + part.start)
            ours.append(island + start)
    none = [np.zeros(0, dtype=np.int64)]
    return Held(np.concatenate([*none, *ours]), np.concatenate([*none, *true]), first)


def net_pairs(board: Board, first: Any) -> Any:
    """Our islands that are one net by design."""
    number = np.concatenate([layer.net for layer in board.copper])
    _, leader, label = np.unique(number, return_index=True, return_inverse=True)
    return np.column_stack([np.arange(len(number)), leader[label]])


def said_joined(facts: Facts, width: float, at_limit: bool) -> Any:
    """Pairs of our islands that the engine leaves joined, also those "at the limit" if asked.

    Islands without pad, hole or net are no nets to the engine, but letters: of two of them their
    gap tells.
    """
    process = cutting(width)
    board = facts.board
    first = np.cumsum([0, *(len(layer.islands) for layer in board.copper)])
    pairs = [net_pairs(board, first)]
    most = width + tie(board) * (1 if at_limit else -1)
    for k, (gaps, judged) in enumerate(zip(facts.gaps, fates(facts, process), strict=True)):
        letters = ~parts_nets(board, k, gaps.islands) & (judged.fits < most)
        told = judged.fate >= Fate.AT_LIMIT if at_limit else np.False_
        pairs.append(gaps.islands[letters | told] + first[k])
    if not at_limit:
        number = np.concatenate([layer.net for layer in board.copper])
        for group in joined_nets(facts, process).groups:
            members = np.flatnonzero(np.isin(number, group))
            pairs.append(np.column_stack([members[:-1], members[1:]]))
    return np.concatenate(pairs)


class SeveralError(Exception):
    """A board and a cut of which more than one thing may rightly be said."""


def wrong_verdicts(plan: Plan, width: float) -> list[str]:
    """What the checker says wrongly of a board and a cut.

    Said to stay joined must be what the closing joins at a cut narrower by the band that counts
    as "at the limit", and said to be open what it leaves open at one wider by it, each to 2 um.

    Raises:
        SeveralError: there is no one right answer: copper hangs together by a thread or has a tip
            that ends elsewhere when its two sides are drawn within the tolerance, a hole lies at
            an edge, or all copper is cleared away.
    """
    truth = truth_of(plan)
    if truth.doubtful or not truth.islands:
        raise SeveralError
    board = board_of(plan)
    facts = measure(board, reach_for(cutting(width)))
    match = held(board, truth)
    band = tie(board)
    least, most = truth.joined(width - band - WITHIN), truth.joined(width + band + WITHIN)
    same = bool((least == most).all())
    wrong = []
    for what, at_limit, limit in (("joined", False, width - band), ("open", True, width + band)):
        said = match.together(truth, said_joined(facts, width, at_limit))
        low = least if same else truth.joined(limit - WITHIN)
        high = most if same else truth.joined(limit + WITHIN)
        if (low & ~said).any():
            if not (surely_joined(plan, truth, limit - WITHIN, -SLACK) & ~said).any():
                raise SeveralError
            wrong.append(f"{what}: misses a joint, cut {width:.4f}")
        if (said & ~high).any():
            if not (said & ~surely_joined(plan, truth, limit + WITHIN, SLACK)).any():
                raise SeveralError
            wrong.append(f"{what}: joint that is none, cut {width:.4f}")
    return wrong


def width_errors(plan: Plan, top: float = 0.6) -> Any:
    """(k,) widest cut read and measured, minus that of the closing bisected to 0.1 um, in mm.

    One for each width at which islands of the first layer merge in truth or are said to, below
    ``top``; empty where the truth is doubtful.
    """
    truth = truth_of(replace(plan, bottom=(), holes=()))
    if truth.doubtful or len(truth.islands) < 2:
        return np.zeros(0)
    board = board_of(replace(plan, bottom=(), holes=()))
    (gaps,) = measure(board, Reach(cut=top + 0.01, copper=0.0)).gaps
    match, n = held(board, truth), len(truth.islands)
    pairs = np.concatenate([np.column_stack([match.true, match.ours + n]), gaps.islands + n])
    widths = np.concatenate([np.full(len(match.ours), 1e-6), gaps.widest_cut[0.0]])
    claimed = np.minimum(minimax(n + len(board.copper[0].islands), pairs, widths)[:n, :n], top)
    tries = [level + off for level in np.unique(claimed) for off in (-1e-3, 1e-3)]
    true = np.minimum(merges(truth.islands, top, 0.0, 1e-4, tries).width, top)
    upper = np.triu((true < top) | (claimed < top), 1)
    off, level = (claimed - true)[upper], np.round(true[upper], 7)
    worst = [off[level == one] for one in np.unique(level)]
    return np.array([one[np.abs(one).argmax()] for one in worst])
