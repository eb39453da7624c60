"""A board that is larger than the machine reaches, or than the blank.

Measures
--------
Width and height of the whole edge, with twice ``outline.cutter`` and ``machine.margin`` added to
each, against ``machine.travel`` and ``stock.size``: as it lies or turned by a quarter, whichever
fits better. Only marginal where nothing but the margin lacks. A beam or a film doesn't cut out the
board, so no cutter is added. A perfboard is cut to size by hand: the board alone against
``stock.size``.

Why
---
The cutter goes round the board on its outside, and clamps need room beyond that. What is out
of reach stays uncut, or the machine runs into its stop or a clamp and loses its place. At the rim
of a beam's field or of a film the copper comes out blurred.

Fix
---
Shorten the board by the length told, where it is milled hold it with full-area tape that needs no
room beside it, or part it and join the parts.

Limits
------
Boards are not turned by other angles. Copper is taken for the board where no file gives the edge.

Sources
-------
``machine.travel``, ``machine.margin`` and ``outline.cutter`` come from the profile, which names
their sources; clamps take 8 to 10 mm on each side by common trade practice.

See
---
``misread-size``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.methods import METHODS, MILLING, PERFBOARD
from checker.remedy import up
from checker.severity import Severity
from rules._edge import unset

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "size of the board"


@rule(severity=Severity.ERROR, methods=METHODS)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the machine, one for the blank."""
    board, stock = facts.board, process.stock.size
    cutter, travel = process.outline.cutter, process.machine.travel
    margin, mills = process.machine.margin, process.method == MILLING
    rooms: dict[str, tuple[tuple[float, ...] | None, float]] = {"the blank is": (stock, 0.0)}
    if process.method == PERFBOARD:
        margin = 0.0
        if stock is None:
            yield unset(_SUBJECT, "stock.size")
    elif cutter is None or travel is None:
        yield unset(_SUBJECT, "outline.cutter" if cutter is None else "machine.travel")
        return
    else:
        rooms = {
            "the machine reaches": (travel, 2 * (cutter * mills + margin)),
            "the blank is": (stock, 2 * (cutter + margin)),
        }
    short, long = sorted(board.size)
    for what, (room, around) in rooms.items():
        if room is None:
            continue
        least, most = sorted(room)
        lacks_short, lacks_long = short + around - least, long + around - most
        lacks = max(lacks_short, lacks_long)
        if lacks <= tie(board):
            continue
        length, limit = (long, most) if lacks == lacks_long else (short, least)
        rim = margin > 0 and lacks <= 2 * margin + tie(board)
        edge = board.outline is not None
        yield Observation(
            message=f"{'Board' if edge else 'Copper'} of {short:.1f} x {long:.1f} mm"
            + ", taken for the board for want of an edge," * (not edge)
            + f" needs {length + around:.1f} mm"
            + f" with {around / 2:.1f} mm around it" * bool(around)
            + f", {what} {limit:.1f} mm",
            remedy=("Shorten it" if edge else "Export the board's edge, or shorten it")
            + f" by {up(lacks):.2f} mm"
            + (
                ", or hold it with tape under it instead of clamps"
                if rim and mills
                else ", or part it"
            ),
            cause=f"a board larger than {what.removesuffix(' is')}",
            state=State.MARGINAL if rim else State.NOT_MAKEABLE,
            measured=length + around,
            limit=limit,
        )
