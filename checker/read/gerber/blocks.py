"""Aperture blocks (AB) and step and repeat (SR): drawings within the drawing."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from checker.read.gerber.drawing import DEEPEST, IDENTITY, NO_TAG, Copies, Drawing
from checker.read.gerber.units import LARGEST
from checker.read.gerber.words import StatementError, quoted

if TYPE_CHECKING:
    from checker.read.gerber.units import Units

_BLOCK = re.compile(r"ABD(\d{1,9})\Z")
_STEP = re.compile(
    r"SR(?:X(\d{1,12}))?(?:Y(\d{1,12}))?(?:I([+-]?[\d.]+))?(?:J([+-]?[\d.]+))?\Z"
)  # fmt: skip


class Nest:
    """The drawings that are open, one inside the other.

    Attributes:
        drawing: the innermost, which records what is drawn now.
    """

    def __init__(self) -> None:
        self.drawing = Drawing()
        # The drawing around each open one, and what opened it: a block number or a repeat.
        self._around: list[tuple[Drawing, int | Copies]] = []

    def __len__(self) -> int:
        return len(self._around)

    @property
    def in_repeat(self) -> bool:
        """Whether the innermost one is a repeat."""
        return bool(self._around) and isinstance(self._around[-1][1], Copies)

    def open_block(self, body: str) -> None:
        """Obey ``ABDnn``."""
        match = _BLOCK.match("".join(body.split()))
        if match is None:
            raise StatementError(f"aperture block {quoted(body)}", "a statement such as ABD10")
        self._push(Drawing(), int(match[1]))

    def open_repeat(self, body: str, at: int, units: Units) -> None:
        """Obey ``SR`` with its counts and steps; one copy is no repeat."""
        match = _STEP.match("".join(body.split()))
        if match is None:
            raise StatementError(
                f"step and repeat {quoted(body)}", "a statement such as SRX2Y3I10J5"
            )
        x, y, i, j = match.groups()
        count = (int(x or 1), int(y or 1))
        if min(count) < 1:
            raise StatementError(f"step and repeat {quoted(body)}", "counts from 1")
        if count != (1, 1):
            step = (units.length(i, "step") if i else 0.0, units.length(j, "step") if j else 0.0)
            repeat = Copies(at, True, NO_TAG, Drawing(), IDENTITY, (0.0, 0.0), count, step)
            self._push(repeat.drawing, repeat)

    def _push(self, drawing: Drawing, opener: int | Copies) -> None:
        if len(self._around) >= DEEPEST:
            raise StatementError("blocks nested too deep", f"at most {DEEPEST} levels")
        self._around.append((self.drawing, opener))
        self.drawing = drawing

    def close_repeat(self) -> None:
        """End the innermost repeat and put its copies where it began."""
        self.drawing, repeat = self._around.pop()
        assert isinstance(repeat, Copies)
        (nx, ny), (dx, dy) = repeat.count, repeat.step
        if repeat.drawing.objects and max((nx - 1) * abs(dx), (ny - 1) * abs(dy)) > LARGEST:
            raise StatementError("step and repeat leaves the plate", f"at most {LARGEST:g} mm")
        self.drawing.add_copies(repeat)

    def close_block(self) -> tuple[int, Drawing]:
        """End the innermost block: its aperture number and what it holds."""
        block = self.drawing
        self.drawing, number = self._around.pop()
        assert isinstance(number, int)
        return number, block
