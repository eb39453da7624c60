"""What a comparison of processes on one board says. Lengths in mm, times in minutes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from checker.board import Board, Unchecked
    from checker.comparison.left import Left
    from checker.depth import Window
    from checker.findings import Verdict
    from checker.odds import Odds
    from checker.process.model import Process
    from checker.tallying import Count
    from checker.work import Work


class Change(Struct, frozen=True):
    """Something that helps a process that fails, or passes only with luck.

    Attributes:
        what: "depth", "bed", "bit" or "layout".
        text: what to do, with its number.
        clears: of how many places that this cut does not open it opens, or that a cause has; None
            where it mends all that is wrong.
        verdict: what the board then is, judged anew; None where that was not done.
    """

    what: str
    text: str
    clears: int | None = None
    verdict: Verdict | None = None


class Row(Struct, frozen=True, eq=False):
    """One process on the board.

    Attributes:
        counts: causes of findings with their number of places, worst first. Where ``partly`` the
            gaps alone decided, and no other rule was asked.
        closed: places between two nets that the nominal cut does not open.
        opens: every gap between two nets opens, at the widest of the spread too.
        at_least: gaps were not looked for as far as this cut is wide: there may be more of them.
        margin: how much wider a cut than the widest of the spread would still pass every gap;
            negative by what is missing. None where the process isolates nothing.
        beyond: no gap was as tight as gaps were looked for: the margin is at least that.
        window: the depths that do; None where no depth is set.
        left: what the cut leaves of the copper; None where there is no copper to leave.
        work: cut length, times, what is left to do by hand.
        changes: what helps, the smallest first; empty where the board is makeable so.
        odds: the probability that the board comes out whole; None where nobody asked.
        relief: how many gaps that can't be cut taking off spare copper would open, and how many
            there are; None where nobody asked, or where there is none.
    """

    process: Process
    verdict: Verdict
    counts: tuple[Count, ...]
    partly: bool
    closed: int
    opens: bool
    at_least: bool
    margin: float | None
    beyond: bool
    window: Window | None
    left: Left | None
    work: Work
    changes: tuple[Change, ...]
    unchecked: tuple[Unchecked, ...]
    odds: Odds | Unchecked | None = None
    relief: tuple[int, int] | None = None


class Pair(Struct, frozen=True):
    """Two bits for one board: the fine one where the coarse one does not fit.

    Attributes:
        fine, coarse: names of the processes.
        fine_metres, coarse_metres: what each cuts.
        minutes: of both, the change of tool between them included.
        saved: minutes less than the fine one alone takes.
    """

    fine: str
    coarse: str
    fine_metres: float
    coarse_metres: float
    minutes: float
    saved: float


class Comparison(Struct, frozen=True, eq=False):
    """Several processes on one board; ``rows`` best first."""

    board: Board
    rows: tuple[Row, ...]
    pair: Pair | None = None
