"""Copper too near to the edge of the board, or beyond it.

Measures
--------
From the copper drawn on an outer side to the nearest edge, cut-outs included, against
``outline.edge_clearance``: once for each pad, and for each trace or pour once along each side of
the edge, or once where sides meet in the corner it is nearest to. Not makeable where the edge cuts
copper in two, cuts away the middle of a trace or more than half of a pad, or leaves outside what is
joined to something; otherwise marginal. Copper outside that is joined to nothing is a remark.

Why
---
The outline cutter wanders by its runout and by the play of the axes, and pulls at the foil: copper
at the edge comes off as a burr that joins both sides, or takes a trace with it. Tabs are broken off
and filed, and what lies behind them goes along.

Fix
---
Pull the copper back by the length told: move the trace, or give the pour that distance to the edge.

Limits
------
Contacts of a connector that slides over the edge are drawn up to it on purpose; they are told like
any other copper, and want a file along the edge. Copper that nobody drew is not meant here: it
reaches the edge on every milled board. Pads whose hole the edge cuts are left to ``plated-edge``,
and an edge drawn in copper to ``outline-in-copper``. A closed line inside the edge is a cut-out,
and cuts what it crosses, unless copper lies whole inside it: then it is told as not checked.

Sources
-------
``outline.edge_clearance`` comes from the profile, which names its source. Factories keep 0.2 to
0.3 mm at outlines that are true to 0.1 or 0.2 mm; at home 0.5 to 1 mm is common trade practice.

See
---
``hole-at-edge``, ``plated-edge``, ``outline-in-copper``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.board import Kind
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import UNKNOWN, labels_of
from checker.measure.edge.clearances import copper_of
from checker.remedy import up
from checker.severity import Severity
from rules._edge import alone, no_edge, told_elsewhere, unset

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "copper at the edge"
_ONE = {Kind.PAD: "Pad", Kind.TRACE: "Trace", Kind.POUR: "Pour", UNKNOWN: "Copper"}
_MANY = {Kind.PAD: "pads", Kind.TRACE: "traces", Kind.POUR: "pours", UNKNOWN: "copper"}
_EVEN = 0.01  # mm; what is all but as near as the limit counts for which of equal places is told
_NEAR, _OVER, _CUT, _OUT, _MARK, _ON = range(6)
_LIES = (
    "from the edge", "over the edge", "over the edge, which cuts it", "outside the edge",
    "outside the edge, joined to nothing", "right on the edge",
)  # fmt: skip
_STATE = {_CUT: State.NOT_MAKEABLE, _OUT: State.NOT_MAKEABLE, _MARK: State.REMARK}


@rule(severity=Severity.ERROR, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every place where copper is nearer to the edge than wished."""
    board, limit = facts.board, process.outline.edge_clearance
    if limit is None:
        yield unset(_SUBJECT, "outline.edge_clearance")
        return
    copper = copper_of(board, limit + _EVEN)
    if copper is None:
        yield no_edge(board, _SUBJECT)
        return
    labels, band = labels_of(board), tie(board)
    near = copper.distance < limit - band
    rows = np.flatnonzero(near & ~told_elsewhere(board, copper))
    lost = np.where(alone(board, copper), _MARK, _OUT)
    beyond = np.where(copper.lost, lost, np.where(copper.parted, _CUT, _OVER))
    inside = np.where(copper.distance > band, _NEAR, _ON)
    lies = np.where(copper.distance < -band, beyond, inside)[rows]
    kind = np.array(
        [labels.kind(*pair) for pair in zip(copper.layer[rows], copper.object[rows], strict=True)],
        np.int64,
    )
    for code, members in alike(kind * len(_LIES) + lies, copper.distance[rows]):
        kind_code, how = divmod(code, len(_LIES))
        sizes = np.abs(copper.distance[rows[members]])
        size = "" if how == _ON else f" {spoken(sizes)}"
        cause = f"{_MANY[kind_code]}{size} {_LIES[how]}"
        for row in rows[members].tolist():
            index, island = int(copper.layer[row]), int(copper.island[row])
            distance, layer = float(copper.distance[row]), board.copper[index]
            pin = labels.pin(index, int(copper.object[row]))
            name = pin or layer.net_name[island]
            far = "" if how == _ON else f" {abs(distance):.3f} mm"
            yield Observation(
                message=f"{_ONE[kind_code]}{far} {_LIES[how]}, copper stays from {limit:.3f} mm "
                "inside" + (f": {name}" if name else ""),
                remedy=f"Pull it back by {up(limit - distance):.2f} mm",
                cause=cause,
                state=_STATE.get(how, State.MARGINAL),
                measured=distance,
                limit=limit,
                side=layer.side,
                x=float(copper.at[row, 0]),
                y=float(copper.at[row, 1]),
                nets=(labels.net(index, island),),
                pins=(pin,) if pin else (),
            )
