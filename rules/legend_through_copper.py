"""Legend engraved so deep that its strokes cut the copper under them.

Measures
--------
Strokes and shapes of the legend, grown by half the cut (``bit``), over copper of the same side,
where ``legend.depth`` is no less than the thinnest ``foil``. One place is told for each net, where
its copper is crossed longest.

Why
---
The bit that writes is the bit that isolates. Where it goes through the foil a letter on a trace
parts the trace, and every stroke over a pour draws a slot in it.

Fix
---
Engrave a few hundredths of a millimetre and not through the foil, move the legend to bare laminate
or to the side without copper, or leave it out.

Limits
------
A stroke that runs out within the copper does not part it, and is told all the same: the maker looks
at one place for each net. A legend that is painted or burnt on has no ``legend.depth``.

Sources
-------
``legend.depth`` and the foil come from the profile.

See
---
``severed-net``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker import plural
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.copper.strokes import crossings_of
from checker.remedy import down
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_HALF = 2  # half the least foil leaves copper under the engraving


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every net that the legend goes through."""
    depth, foil = process.legend_depth, process.foil.least
    if depth is None or process.cut is None or depth < foil:
        return
    board, labels = facts.board, labels_of(facts.board)
    found = crossings_of(board, process.cut.nominal / 2)
    for index, island, at, length in zip(
        found.layer.tolist(),
        found.island.tolist(),
        found.at.tolist(),
        found.length.tolist(),
        strict=True,
    ):
        net = labels.net(index, island)
        yield Observation(
            message=f"Legend {depth:.3f} mm deep over {length:.1f} mm of copper that is "
            f"{foil:.3f} mm thick: {net}",
            remedy=f"Engrave the legend {down(foil / _HALF):.2f} mm deep, move it off the copper "
            "or leave it out",
            cause=f"legend engraved through the copper of {plural.count(len(found), 'net')}",
            state=State.NOT_MAKEABLE,
            measured=foil,
            limit=depth,
            side=board.copper[index].side,
            x=at[0],
            y=at[1],
            nets=(net,),
        )
