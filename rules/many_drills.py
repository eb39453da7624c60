"""More sizes of holes than one cares to change drills for.

Measures
--------
How many drills the round holes take at least, against ``drills.most_sizes``. One drill serves every
size within ``drills.tolerance`` of it; a size for which none is at hand counts as a drill of its
own; holes for which none is at hand and which the outline cutter goes round in take none.

Why
---
Every change of drill is minutes of work and a new zero in depth, each with its own chance of a
slip. A board with a dozen sizes takes longer to drill than to isolate.

Fix
---
Draw neighbouring sizes as one, the wider, so that every lead still goes in.

Limits
------
What the wider hole leaves of the pad is a matter of its ring. Slots are milled and don't count.

Sources
-------
``drills.most_sizes`` comes from the profile, which names its source.

See
---
``unowned-drill``
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.severity import Severity
from rules._holes import EXACT, drill_for, milled, rounds, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SHOWN = 3  # merges that a remedy spells out


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    most = process.drills.most_sizes
    if most is None:
        yield Unchecked("number of drills", "the profile sets no drills.most_sizes")
        return
    if (missing := unread(facts.board, "number of drills")) is not None:
        yield missing
        return
    holes = Counter(round(hole.diameter, 3) for _, hole in rounds(facts.board))
    drills = _drills(process, holes)
    if len(drills) <= most:
        return
    yield Observation(
        message=f"{len(drills)} sizes of drills ({', '.join(f'{one:.2f}' for one in drills)} mm), "
        f"wished {most} at most",
        remedy=_remedy(drills, len(drills) - most),
        cause="more sizes of drills than wished",
        state=State.REMARK,
    )


def _drills(process: Process, holes: Counter[float]) -> dict[float, int]:
    """The fewest drills that make the holes, ascending, and how many holes each makes.

    Sizes ascending, the widest drill that serves the least size left serves as many of the next
    as any other.
    """
    drills: dict[float, int] = {}
    reach, drill = 0.0, 0.0
    for size, count in sorted(holes.items()):
        if size > reach:
            if drill_for(process, size) is None:
                if milled(process, size):
                    continue
                drill = reach = size
            else:
                tolerance = process.drills.tolerance + EXACT
                drill = max(one for one in process.drills.sizes or () if one <= size + tolerance)
                reach = drill + tolerance
        drills[drill] = drills.get(drill, 0) + count
    return drills


def _remedy(drills: dict[float, int], too_many: int) -> str:
    """The nearest neighbours as one, the wider; of equally near ones those with fewer holes."""
    sizes = list(drills)
    apart = {i: round(sizes[i] - sizes[i - 1], 3) for i in range(1, len(sizes))}
    nearest = sorted(apart, key=lambda i: (apart[i], drills[sizes[i - 1]], i))
    joined = set(nearest[:too_many])
    words = []
    for i in sorted(joined):
        widest = next(k for k in range(i, len(sizes)) if k + 1 not in joined)
        narrower = sizes[i - 1]
        words.append(
            f"{drills[narrower]} hole{'s'[: drills[narrower] > 1]} of {narrower:.2f} mm as "
            f"{sizes[widest]:.2f} mm"
        )
    more = len(words) - _SHOWN
    rest = [f"{more} more size{'s'[: more > 1]} as the next"] if more > 0 else []
    return "Draw " + ", ".join(words[:_SHOWN] + rest)
