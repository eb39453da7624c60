"""More joints between the two sides than one cares to make by hand.

Measures
--------
The holes whose copper goes on from both sides: every via, which takes a wire or a rivet, and every
lead to be soldered above and below. They are counted against ``joints.most``. Pads that no copper
leaves are not counted.

Why
---
A hole drilled at home has no copper in it. Every one of these joints takes a minute or two, and one
forgotten is a fault that is hard to find: the count tells what the board costs in evenings.

Fix
---
Lay nets out so that they stay on one side, let leads change the side instead of vias, and leave out
joints between pours that others join already; the remedy counts them.

Limits
------
Only the number is judged. Joints that close a ring are counted as spare even where they lower the
resistance of a ground.

Sources
-------
``joints.most`` comes from the profile. Common trade practice: one to two minutes for a wire.

See
---
``hidden-joint``, ``joint-under-part``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.holes.joints import joints_of
from checker.measure.holes.uses import Use
from checker.severity import Severity
from rules._holes import two_sided, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "number of joints by hand"


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    board, most = facts.board, process.joints.most
    if not two_sided(board):
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    if most is None:
        yield Unchecked(_SUBJECT, "the profile sets no joints.most")
        return
    joints = joints_of(board)
    count = int(joints.both.sum())
    if count <= most:
        return
    kinds = ((Use.VIA, "via"), (Use.COMPONENT, "lead"), (Use.UNKNOWN, "other hole"))
    each = [(int((joints.both & (joints.use == use)).sum()), word) for use, word in kinds]
    told = [f"{number} {word}{'s'[: number > 1]}" for number, word in each if number]
    yield Observation(
        message=f"{count} joints of both sides by hand, the profile allows {most}: "
        f"{', '.join(told)}",
        remedy=_remedy(count - most, joints.spare),
        cause="more joints by hand than the profile allows",
        state=State.REMARK,
    )


def _remedy(excess: int, spare: int) -> str:
    if spare >= excess:
        return f"Leave out {excess} of the {spare} that join what others join already"
    stay = f"lay {excess - spare} {'of them ' if not spare else 'more '}out to stay on one side"
    if not spare:
        return stay[0].upper() + stay[1:]
    return f"Leave out the {spare} that join what others join already and {stay}"
