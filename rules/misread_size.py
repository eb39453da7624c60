"""Files of different scale, or a board of a size that no board has.

Measures
--------
Whether holes meet the pads once they are scaled by 25.4 or by 10, either way; whether the edge is
so much larger or smaller than the copper; and the board's size, the typical line of copper and the
typical hole against what boards have.

Why
---
Inch taken for millimetres, or a digit too many after the decimal point, scales a file. Its words
are all in order, so a machine cuts it as readily as the right one.

Fix
---
Export the file again and state unit and number format in it, or choose them by hand when it is
read.

Limits
------
One size alone that is odd is a remark: a board may be large. Where no factor of 25.4 or 10 makes
all sizes usual, nothing is said. Only outer layers are looked at.

Sources
-------
Common practice: lines of 0.05 to 5 mm, holes of 0.1 to 5 mm, boards of 5 to 300 mm. 25.4 is an
inch in millimetres; the factor 10 is one digit of a number format.

See
---
``misfit-sides``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.measure.whole.cover import sizes_of
from checker.measure.whole.fit import SCALES, WIDEST
from checker.methods import METHODS
from checker.severity import Severity
from rules._fit import at_fault, meeting, misfits, named, then

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.measure.whole.cover import Sizes
    from checker.process.model import Process

_LINES = (0.05, 5.0)  # mm
_HOLES = (0.1, 5.0)
_BOARDS = (5.0, WIDEST)
_ENOUGH = 2  # odd sizes that leave no doubt


@rule(severity=Severity.ERROR, methods=METHODS)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """One observation for each file of another scale, or one for the whole board."""
    board, told = facts.board, False
    for match, sides in misfits(board, scaled=True):
        assert match.motion is not None
        told, scale = True, match.motion.scale
        who = at_fault(match, sides)
        edge = board.outline or board.stray_outline
        if match.what == "edge" and edge is not None:
            x0, y0, x1, y1 = edge.area.bounds
            message = f"Edge of {x1 - x0:.4g} x {y1 - y0:.4g} mm, where one of "
            message += f"{scale * (x1 - x0):.4g} x {scale * (y1 - y0):.4g} mm fits the copper"
        else:
            message = f"{meeting(match, sides)}, {then(match)} would if {named(match.what)} were "
            message += f"scaled by {scale:.4g}"
        yield Observation(
            message=message,
            remedy=f"Scale {who} by {scale:.4g}, or export it again with its unit stated",
            cause=f"{named(match.what)} {_factor(scale)}",
            state=State.NOT_MAKEABLE,
            side=match.what if match.what in board.sides else None,
        )
    if not told:
        yield from _whole(sizes_of(board))


def _whole(sizes: Sizes) -> Iterator[Observation]:
    odd = _odd(sizes, 1)
    scale = next((scale for scale in SCALES if not _odd(sizes, scale)), None)
    if not odd or scale is None:
        return
    yield Observation(
        message=f"{', '.join(odd)}: usual after scaling by {scale:.4g}",
        remedy=f"Scale all files by {scale:.4g}, or export them again with their unit stated",
        cause=f"all files {_factor(scale)}",
        state=State.NOT_MAKEABLE if len(odd) >= _ENOUGH else State.REMARK,
    )


def _odd(sizes: Sizes, scale: float) -> list[str]:
    """What is odd once all is scaled, in words."""
    width, height = sizes.board
    found = []
    if not all(_usual(size * scale, _BOARDS) for size in (width, height)):
        found.append(f"board of {width:.4g} x {height:.4g} mm")
    if sizes.line is not None and not _usual(sizes.line * scale, _LINES):
        found.append(f"lines of {sizes.line:.3g} mm")
    if sizes.hole is not None and not _usual(sizes.hole * scale, _HOLES):
        found.append(f"holes of {sizes.hole:.3g} mm")
    if found:
        found[0] = found[0][0].upper() + found[0][1:]
    return found


def _usual(size: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= size <= bounds[1]


def _factor(scale: float) -> str:
    """What has to be scaled by so much, in words."""
    times = max(scale, 1 / scale)
    return f"{times:.4g} times too {'small' if scale > 1 else 'large'}"
