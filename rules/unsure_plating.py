"""Holes of which no file says whether they join the two sides.

Measures
--------
Holes whose plating no file states, which have no pad of their own, and to whose edge copper of both
sides comes.

Why
---
Nothing is plated at home: a joint between the sides is a wire that someone solders. A hole with a
pad on each side is one. Where fills of both sides run to the edge of a hole without pads it may be
a joint to make or a hole for a screw that must not touch them.

Fix
---
Export plated and unplated holes in files of their own, or give the hole a pad on each side, or
fills that keep off it.

Limits
------
A hole with a pad on a side counts as a joint, stated or not. On boards of one side it makes no
difference.

Sources
-------
Excellon has no word for plating; XNC and the Gerber layer format state it per file or per tool
(``FileFunction`` and ``AperFunction``).

See
---
``overlapping-holes``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.whole.cover import rims_of
from checker.severity import Severity
from rules._holes import two_sided, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every hole that may be a joint or none."""
    board, labels, rims = facts.board, labels_of(facts.board), rims_of(facts.board)
    missing = unread(board, "plating of holes") if two_sided(board) else None
    if missing is not None:
        yield missing
    layer = {layer.side: index for index, layer in enumerate(board.copper)}
    for row, islands in zip(rims.hole.tolist(), rims.islands.tolist(), strict=True):
        hole = board.holes[row]
        x, y = hole.path[0]
        pairs = zip(("top", "bottom"), islands, strict=True)
        nets = tuple(dict.fromkeys(labels.net(layer[side], island) for side, island in pairs))
        yield Observation(
            message=f"Hole of {hole.diameter:.2f} mm meets copper of both sides without a pad, and "
            f"no file says whether it is plated: {' and '.join(nets)}",
            remedy=f"Solder a wire into the {hole.diameter:.2f} mm hole if it joins the sides; else"
            " keep copper off it",
            cause=f"holes of {hole.diameter:.2f} mm of unknown plating",
            state=State.REMARK,
            x=x,
            y=y,
            nets=nets,
        )
