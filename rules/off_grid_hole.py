"""A lead that meets no hole of the perfboard.

Measures
--------
The distance of every lead from the nearest hole of a square grid of ``grid.pitch``, against
``grid.bend``. The grid lies where most leads are within that of a hole. Of a part whose leads are
off, it is measured too how far they stay off once the part is moved as well as can be.

Why
---
A perfboard has its holes where it has them. A part that stands beside the grid as a whole only
moves a little; one whose own leads do not fit the grid goes in with bent leads or not at all.

Fix
---
Move the part by what is told, or draw the layout on a grid of 2.54 mm. Leads of resistors, diodes
and transistors bend to the next hole; of connectors, relays and switches take a type with leads on
the grid, or solder it to an adapter board.

Limits
------
Whether a moved part then meets its neighbours is not looked at. The files do not tell how stiff a
lead is: those of parts of up to ``grid.free_leads`` bend anywhere, others by ``grid.forced_bend``.
Where nobody names the part of a hole, it is not known whether its leads fit the grid once moved.

Sources
-------
The keys of ``grid`` come from the profile, which names their sources; the grid of 2.54 mm is that
of IEC 60097.

See
---
``surface-part``, ``thick-lead``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import natural
from checker.methods import PERFBOARD
from checker.severity import Severity
from rules._holes import names, where
from rules._perfboard import grid_or_why, way

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.measure.whole.grid import Grid
    from checker.process.model import Process


@rule(severity=Severity.ERROR, methods=(PERFBOARD,))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for each part or hole of no part."""
    board, grid = facts.board, grid_or_why(facts.board, process, "leads on the grid")
    if isinstance(grid, Unchecked):
        yield grid
        return
    off = np.flatnonzero(grid.distance > (limit := grid.reach + tie(board)))
    owner = grid.leads.part[off]
    yield from (_lone(board, grid, row) for row in off[owner < 0].tolist())
    if (owner < 0).any():
        yield Unchecked("whether parts fit the grid", "no file names the parts of leads off it")
    for part in np.unique(owner[owner >= 0]).tolist():
        yield _part(board, process, grid, part, off[owner == part].tolist(), limit)


def _lone(board: Board, grid: Grid, row: int) -> Observation:
    away, told = float(grid.distance[row]), where(board, int(grid.leads.hole[row]))
    message, remedy = f"Hole stands {away:.3f} mm {_off(grid)}{told}", way(-grid.offset[row])
    words = message, f"Move it {remedy}", "holes beside the grid"
    return _seen(board, grid, [row], State.MARGINAL, away, words, _moved(grid))


def _part(
    board: Board, process: Process, grid: Grid, part: int, off: list[int], limit: float
) -> Observation:
    name, fit = grid.leads.parts[part], float(grid.fit[part])
    count, away = int((grid.leads.part == part).sum()), float(grid.distance[off].max())
    leads = f"{len(off)} of {count} leads of {name}" if count > 1 else f"Lead of {name}"
    if fit <= limit:
        message, remedy = f"{leads} {away:.3f} mm {_off(grid)}", way(grid.shift[part])
        words = message, f"Move {name} {remedy}", "parts beside the grid"
        return _seen(board, grid, off, State.MARGINAL, away, words, _moved(grid))
    message = f"{leads} stay {fit:.3f} mm {_off(grid)}, wherever the part is moved"
    if count <= (process.grid.free_leads or 0) or fit <= (process.grid.forced_bend or 0):
        words = message, f"Bend its leads {fit:.2f} mm or more to free holes", "leads to be bent"
        return _seen(board, grid, off, State.MARGINAL, fit, words)
    remedy = f"Use parts with leads {grid.pitch:.2f} mm apart, or put them on adapter boards"
    words = message, remedy, "parts with leads that fit no grid"
    return _seen(board, grid, off, State.NOT_MAKEABLE, fit, words)


def _off(grid: Grid) -> str:
    return f"off the grid of {grid.pitch:.2f} mm, a lead bends {grid.reach:.2f} mm"


def _moved(grid: Grid) -> str:
    return f"Move the parts onto a grid of {grid.pitch:.2f} mm"


def _seen(
    board: Board, grid: Grid, rows: list[int], state: State, measured: float,
    words: tuple[str, str, str], together: str | None = None,
) -> Observation:  # fmt: skip
    """At the lead that is farthest off, of several the first by name."""
    leads, distance = grid.leads, grid.distance
    worst = min(rows, key=lambda row: (-round(float(distance[row]), 3), natural(leads.pin[row])))
    nets, pins = names(board, [int(leads.hole[worst])])
    x, y = leads.at[worst].tolist()
    return Observation(*words, state, measured, grid.reach, None, x, y, nets, pins, together)
