"""The smallest changes that let a process make a board: of the setting, the bit, the layout."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.comparison.model import Change
from checker.exact import tie
from checker.findings import State, Verdict
from checker.isolation import tightest
from checker.process.vary import at_depth
from checker.remedy import FINE_STEP, STEP, Remedies, down, probe_grid

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.depth import Window
    from checker.measure import Facts
    from checker.process.model import Process
    from checker.tallying import Count, Tallied

_MOST_LAYOUT = 2  # changes of the layout that are told


def other_depth(process: Process, window: Window | None, tallied: Tallied) -> Process | None:
    """The process at the depth that suits the board; None where none does or nothing is wrong."""
    depth = None if window is None else window.best
    if _passes(tallied) or process.bit is None or depth is None:
        return None
    if abs(depth - process.bit.depth.nominal) < FINE_STEP / 2:
        return None
    return at_depth(process, depth)


def changes(
    facts: Facts,
    process: Process,
    window: Window | None,
    tallied: Tallied,
    then: Tallied | None,
) -> tuple[Change, ...]:
    """What helps a process that does not make the board with margin, the smallest first.

    Args:
        facts: of the board.
        process: what is judged.
        window: the depths of the process for the board.
        tallied: what is wrong with it as it is.
        then: what is wrong with it at `other_depth`; None where there is none.
    """
    if _passes(tallied):
        return ()
    setting = _setting(window, tallied, then) or _bit(facts, process, window)
    return (*setting, *_layout(tallied.causes))


def _passes(tallied: Tallied) -> bool:
    return tallied.verdict in (Verdict.MAKEABLE, Verdict.NOT_CHECKED)


def _setting(window: Window | None, tallied: Tallied, then: Tallied | None) -> tuple[Change, ...]:
    """Another depth, if one does better."""
    if window is None or window.best is None or then is None or _rank(then) >= _rank(tallied):
        return ()
    least, most = window.sure.shallowest, window.sure.deepest
    does = f"{least:.3f} mm and deeper do" if most > 1 else f"{least:.3f} to {most:.3f} mm does"
    return (Change("depth", f"cut {window.best:.2f} mm deep ({does})", verdict=then.verdict),)


def _bit(facts: Facts, process: Process, window: Window | None) -> tuple[Change, ...]:
    """A flatter bed or another bit for the tightest gap."""
    if process.cut is None:
        return ()
    found = []
    if window is not None and window.sure.empty and STEP <= window.flatness < process.bed_error:
        found.append(Change("bed", _flatter(process, down(window.flatness, FINE_STEP))))
    band, gap = tie(facts.board), tightest(facts, process)
    if gap.row is not None and gap.fits < process.cut.most - band:
        other = Remedies(process, band).process(gap.fits)
        if other is not None:
            found.append(Change("bit", other))
    return tuple(found)


def _flatter(process: Process, error: float) -> str:
    grid = probe_grid(process.machine.bow, error)
    probed = f", which takes a probed grid of {grid:.1f} mm or closer" if grid else ""
    return f"hold the surface to ±{error:.3f} mm{probed}"


def _layout(counts: Sequence[Count]) -> tuple[Change, ...]:
    """The changes of the layout that clear most of the places that decide."""
    worst = (
        State.NOT_MAKEABLE if any(c.state is State.NOT_MAKEABLE for c in counts) else State.MARGINAL
    )
    deciding = [count for count in counts if count.state is worst]
    largest = sorted(deciding, key=lambda count: -count.count)[:_MOST_LAYOUT]
    return tuple(Change("layout", _redraw(count), clears=count.count) for count in largest)


def _redraw(count: Count) -> str:
    redraw = count.worst.redraw or count.remedy
    places = f" ({count.count} places)" if count.count > 1 else ""
    return f"{count.cause}{places}: {redraw[:1].lower()}{redraw[1:]}"


def _rank(tallied: Tallied) -> int:
    return [Verdict.MAKEABLE, Verdict.MARGINAL, Verdict.NOT_CHECKED, Verdict.NOT_MAKEABLE].index(
        tallied.verdict
    )
