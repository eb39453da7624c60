"""Apertures: what AD and AM statements say, sizes in millimetres."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from checker.read.gerber.macro import Macro
from checker.read.gerber.stamps import compose
from checker.read.gerber.units import check_size, number
from checker.read.gerber.words import StatementError, quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.read.gerber.drawing import Drawing
    from checker.read.gerber.macro import Primitive
    from checker.read.gerber.units import Units

_DEFINITION = re.compile(r"ADD(\d{1,9})([^,\d][^,]*)(?:,(.*))?\Z")

# Least and most parameters of the standard apertures; the last one or two are a hole (two, a
# rectangle, are withdrawn but still met).
_STANDARD = {"C": (1, 3), "R": (2, 4), "O": (2, 4), "P": (2, 5)}
_MOST_CORNERS = 1000
# Characters of all macros of a file, and terms of their expressions worked out for all apertures.
_MOST_CHARACTERS = 1_000_000
_MOST_TERMS = 2_000_000


class Aperture(Struct, frozen=True):
    """A shape that can be flashed, and in part drawn with.

    Attributes:
        shape: "C", "R", "O", "P" or "macro".
        sizes: C: (diameter,); R and O: (width, height); P: (diameter, corners, turn in degrees).
        hole: (), (diameter,) or (width, height).
        primitives: those of a macro, in the unit of the file.
        unit: mm per unit of ``primitives``.
        composed: the shape of the macro as defined and the corners it took, made at its first
            use so that a macro that cannot be made is refused there.
        function: aperture function such as "ViaPad", None where the file gives none.
    """

    shape: str
    sizes: tuple[float, ...] = ()
    hole: tuple[float, ...] = ()
    primitives: tuple[Primitive, ...] = ()
    unit: float = 1.0
    composed: tuple[Any, int] | None = None
    function: str | None = None

    @property
    def diameter(self) -> float | None:
        """Width of what it draws where it is round, else None."""
        return self.sizes[0] if self.shape == "C" else None


class _Definition(Struct, frozen=True):
    """An AD statement as written; what it means is worked out at its first use."""

    number: int
    shape: str
    parameters: tuple[float, ...]
    function: str | None


class ApertureTable:
    """Macros, apertures and aperture blocks by number."""

    def __init__(self) -> None:
        self._macros: dict[str, Macro] = {}
        self._definitions: dict[int, _Definition] = {}
        self._made: dict[int, Aperture | Drawing] = {}
        self._terms = 0
        self._characters = 0

    def define_macro(self, name: str, texts: Sequence[str]) -> None:
        """An AM statement: its name and the texts between its asterisks."""
        self._characters += sum(map(len, texts))
        if self._characters > _MOST_CHARACTERS:
            raise StatementError("macros without bound", f"{_MOST_CHARACTERS} characters at most")
        self._macros[name] = Macro(name, tuple(texts))

    def define(self, body: str, function: str | None) -> int:
        """Obey an AD statement; ``function`` is the aperture function in force. Its number."""
        match = _DEFINITION.match("".join(body.split()))
        if match is None:
            raise StatementError(
                f"aperture definition {quoted(body)}", "a definition such as ADD10C,0.5"
            )
        what = f"parameter of aperture D{int(match[1])}"
        values = tuple(number(text, what) for text in re.split("[Xx]", match[3] or "") if text)
        definition = _Definition(int(match[1]), match[2], values, function)
        self._definitions[definition.number] = definition
        self._made.pop(definition.number, None)
        return definition.number

    def define_block(self, number: int, drawing: Drawing) -> None:
        """What stood between ``ABDnn`` and ``AB``."""
        self._made[number] = drawing

    def get(self, number: int, units: Units) -> Aperture | Drawing:
        """An aperture, or the drawing of an aperture block.

        Raises:
            StatementError: it is not defined, or its definition makes no sense.
        """
        if number not in self._made:
            if number not in self._definitions:
                raise StatementError(
                    f"aperture D{number} is not defined", "a definition before its use"
                )
            self._made[number] = self._make(self._definitions[number], units.mm)
        return self._made[number]

    def _make(self, definition: _Definition, unit: float) -> Aperture:
        what = f"aperture D{definition.number}"
        name, values = definition.shape, definition.parameters
        if name not in _STANDARD:
            if name not in self._macros:
                raise StatementError(
                    f"{what} uses macro {quoted(name)}", "a macro defined in the file"
                )
            macro = self._macros[name]
            self._terms += macro.size
            if self._terms > _MOST_TERMS:
                raise StatementError("macros expand without bound", f"{_MOST_TERMS} terms at most")
            primitives = macro.primitives(values)
            return Aperture(
                "macro",
                primitives=primitives,
                unit=unit,
                composed=compose(primitives, unit),
                function=definition.function,
            )
        least, most = _STANDARD[name]
        if not least <= len(values) <= most:
            raise StatementError(
                f"{what} has {len(values)} parameters", f"{least} to {most} for {name}"
            )
        first_of_hole = 3 if name == "P" else least
        if name == "P":
            corners = values[1]
            if corners != round(corners) or not 3 <= corners <= _MOST_CORNERS:
                raise StatementError(f"{what} has {corners:g} corners", "a whole number from 3")
            turn = values[2] if len(values) > 2 else 0.0
            sizes: tuple[float, ...] = (check_size(values[0] * unit, what), corners, turn)
        else:
            sizes = tuple(check_size(value * unit, what) for value in values[:least])
        hole = tuple(check_size(value * unit, what) for value in values[first_of_hole:])
        return Aperture(name, sizes, hole, unit=unit, function=definition.function)
