"""Apertures: what an AD statement says, sizes in millimetres."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from checker.read.gerber.units import LARGEST, number
from checker.read.gerber.words import Fault, quoted

if TYPE_CHECKING:
    from checker.read.gerber.macro import Macro, Primitive

_DEFINITION = re.compile(r"ADD(\d{1,9})([^,\s]+?)(?:,(.*))?\Z", re.DOTALL)

# Least and most parameters of the standard apertures; the last two are a hole (withdrawn where
# it is a rectangle, still met).
_STANDARD = {"C": (1, 3), "R": (2, 4), "O": (2, 4), "P": (2, 5)}
_MOST_CORNERS = 1000


@dataclass(frozen=True, slots=True)
class Definition:
    """An AD statement as written: its number, its shape's name, its parameters."""

    number: int
    shape: str
    parameters: tuple[float, ...]
    function: str | None


@dataclass(frozen=True, slots=True)
class Aperture:
    """A shape that can be flashed, and in part drawn with.

    Attributes:
        shape: "C", "R", "O", "P" or "macro".
        sizes: C: (diameter,); R and O: (width, height); P: (diameter, corners, turn in degrees).
        hole: (), (diameter,) or (width, height).
        primitives: those of a macro, in the unit of the file.
        unit: mm per unit of ``primitives``.
        function: aperture function such as "ViaPad", None where the file gives none.
    """

    shape: str
    sizes: tuple[float, ...] = ()
    hole: tuple[float, ...] = ()
    primitives: tuple[Primitive, ...] = ()
    unit: float = 1.0
    function: str | None = None

    @property
    def diameter(self) -> float | None:
        """Width of what it draws where it is round, else None."""
        return self.sizes[0] if self.shape == "C" else None


def parse_definition(word: str, function: str | None) -> Definition:
    """Read an AD statement; ``function`` is the aperture function in force."""
    match = _DEFINITION.match("".join(word.split()))
    if match is None:
        raise Fault(f"aperture definition {quoted(word)}", "a definition such as ADD10C,0.5")
    digits, shape, parameters = match.groups()
    values = tuple(
        number(text, f"parameter of aperture D{int(digits)}")
        for text in re.split("[Xx]", parameters or "")
        if text
    )
    return Definition(int(digits), shape, values, function)


def make_aperture(definition: Definition, unit: float, macros: dict[str, Macro]) -> Aperture:
    """The aperture of a definition, its sizes in mm; macros are worked out here.

    Raises:
        Fault: unknown macro, wrong number or size of parameters.
    """
    name, values = definition.shape, definition.parameters
    what = f"aperture D{definition.number}"
    if name not in _STANDARD:
        if name not in macros:
            raise Fault(f"{what} uses macro {quoted(name)}", "a macro defined before it")
        primitives = macros[name].primitives(values)
        return Aperture(
            "macro", primitives=primitives, unit=unit, function=definition.function
        )  # fmt: skip
    least, most = _STANDARD[name]
    if not least <= len(values) <= most:
        raise Fault(f"{what} has {len(values)} parameters", f"{least} to {most} for {name}")
    first_hole = 3 if name == "P" else least
    sizes, hole = values[:first_hole], values[first_hole:]
    if name == "P":
        corners = sizes[1]
        if corners != round(corners) or not 3 <= corners <= _MOST_CORNERS:
            raise Fault(f"{what} has {corners:g} corners", "a whole number from 3")
        sizes = (sizes[0] * unit, corners, sizes[2] if len(sizes) > 2 else 0.0)
    else:
        sizes = tuple(size * unit for size in sizes)
    hole = tuple(size * unit for size in hole)
    for size in (sizes[0], *hole, *(sizes[1:] if name != "P" else ())):
        check_size(size, what)
    return Aperture(name, sizes, hole, unit=unit, function=definition.function)


def check_size(size: float, what: str) -> float:
    """A size in mm that can be made; 0 is legal and draws nothing."""
    if not math.isfinite(size) or not 0 <= size <= LARGEST:
        raise Fault(f"{what} is {size:.4g} mm wide", f"0 to {LARGEST:g} mm")
    return size
