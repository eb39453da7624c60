"""Older statements on the whole image: MI and SF act on coordinates, OF, IR and AS on the result.

They hold for the whole file wherever they stand, in the order MI, SF, OF, IR, AS.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from checker.read.gerber.drawing import NO_TAG, Copies, Drawing, cos_sin
from checker.read.gerber.units import LARGEST, number
from checker.read.gerber.words import StatementError, quoted

if TYPE_CHECKING:
    from checker.read.gerber.units import Units

_PAIR = re.compile(r"(?:A([+-]?[\d.]+))?(?:B([+-]?[\d.]+))?\Z")

WITHDRAWN = {
    "IJ": "image justification",
    "IO": "image offset",
    "KO": "knockout",
    "IF": "include file",
}


class Image:
    """Where the image goes once it is drawn."""

    def __init__(self) -> None:
        self._offset = (0.0, 0.0)
        self._rotation = 0.0
        self._swapped = False

    def obey(self, body: str, units: Units) -> None:
        """One of the statements IP, OF, IR, AS, MI, SF."""
        match body[:2]:
            case "IP":
                if body[2:].strip() != "POS":
                    raise StatementError(
                        f"image polarity {quoted(body)}, withdrawn from the format",
                        "a positive image",
                        "export the layer as positive",
                    )
            case "OF":
                a, b = (v * units.mm if v else 0.0 for v in _pair(body, 0.0))
                if max(abs(a), abs(b)) > LARGEST:
                    raise StatementError(f"image offset {quoted(body)}", f"at most {LARGEST:g} mm")
                self._offset = (a, b)
            case "IR":
                self._rotation = number(body[2:], "image rotation") % 360
                if self._rotation % 90:
                    raise StatementError(f"image rotation {quoted(body)}", "0, 90, 180 or 270")
            case "AS":
                axes = "".join(body[2:].split())
                if axes not in ("AXBY", "AYBX"):
                    raise StatementError(f"axis selection {quoted(body)}", "ASAXBY or ASAYBX")
                self._swapped = axes == "AYBX"
            case "MI":
                a, b = _pair(body, 0.0)
                x, y = abs(units.factor_x), abs(units.factor_y)
                units.set(factors=(-x if a else x, -y if b else y))
            case _:
                a, b = _pair(body, 1.0)
                if not (0 < a <= 100 and 0 < b <= 100):
                    raise StatementError(
                        f"scale factor {quoted(body)}", "factors above 0, at most 100"
                    )
                factors = (math.copysign(a, units.factor_x), math.copysign(b, units.factor_y))
                units.set(factors=factors)

    @property
    def moves(self) -> bool:
        """Whether the image goes anywhere but where it is drawn."""
        return self._offset != (0.0, 0.0) or bool(self._rotation) or self._swapped

    def place(self, drawing: Drawing) -> Drawing:
        """The drawing, moved, turned and its axes swapped."""
        if not self.moves:
            return drawing
        c, s = cos_sin(self._rotation)
        x, y = self._offset
        matrix, point = (c, -s, s, c), (c * x - s * y, s * x + c * y)
        if self._swapped:
            matrix, point = (s, c, c, -s), (point[1], point[0])
        image = Drawing()
        image.add_copies(Copies(0, True, NO_TAG, drawing, matrix, point))
        return image


def _pair(body: str, default: float) -> tuple[float, float]:
    match = _PAIR.match("".join(body[2:].split()))
    if match is None:
        raise StatementError(f"statement {quoted(body)}", "values for A and B")
    a, b = (number(text, body[:2]) if text else default for text in match.groups())
    return a, b
