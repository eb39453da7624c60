"""Unit, number format and coordinates: from digits to millimetres."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from checker.read.gerber.words import StatementError, quoted

MM_PER_INCH = 25.4
# Ten metres: beyond any film, table or panel, and far from where floats lose a nanometre.
LARGEST = 1e4

_FORMAT = re.compile(
    r"FS([LTD]?)([AI]?)(?:N\d+)?(?:G\d+)?X(\d)(\d)Y(\d)(\d)(?:Z\d\d)?(?:D\d+)?(?:M\d+)?\Z"
)


class Format(NamedTuple):
    """What an FS statement says: which zeros are left out, and digits (whole, decimal)."""

    trailing_zeros_omitted: bool
    incremental: bool
    x: tuple[int, int]
    y: tuple[int, int]


def parse_format(word: str) -> Format:
    """Read an FS statement; a missing letter means leading zeros omitted, absolute."""
    match = _FORMAT.match("".join(word.split()))
    if match is None:
        raise StatementError(f"number format {quoted(word)}", "a format such as FSLAX46Y46")
    zeros, notation, *digits = match.groups()
    xi, xd, yi, yd = map(int, digits)
    return Format(zeros == "T", notation == "I", (xi, xd), (yi, yd))


class Axis(dict[str, float]):
    """Millimetres of each coordinate text of one axis, worked out once per text."""

    def __init__(self, units: Units, which: str) -> None:
        super().__init__()
        self._units = units
        self._which = which
        self._step: float | None = None  # mm per last digit of a plain integer

    def __missing__(self, text: str) -> float:
        try:
            value = int(text) * self._step  # type: ignore[operator] # None raises TypeError
            if not abs(value) <= LARGEST:
                raise OverflowError
        except (ValueError, TypeError, OverflowError):
            value = self._units.coordinate(text, self._which)
        self[text] = value
        return value

    def forget(self, step: float | None) -> None:
        """Begin anew because format, unit or factor changed."""
        self.clear()
        self._step = step


class Units:
    """Unit, format and the legacy factors on coordinates in force at one place of a file."""

    def __init__(self) -> None:
        self.unit: float | None = None
        self.format: Format | None = None
        self.factor_x = self.factor_y = 1.0
        self.x = Axis(self, "x")
        self.y = Axis(self, "y")

    def set(
        self,
        *,
        unit: float | None = None,
        format: Format | None = None,
        factors: tuple[float, float] | None = None,
    ) -> None:
        """Change what is given; coordinates from here on are read anew."""
        self.unit = unit or self.unit
        self.format = format or self.format
        self.factor_x, self.factor_y = factors or (self.factor_x, self.factor_y)
        plain = self.unit and self.format and not self.format.trailing_zeros_omitted
        self.x.forget(self._step("x") if plain else None)
        self.y.forget(self._step("y") if plain else None)

    @property
    def step(self) -> float:
        """Millimetres per last digit, the coarser of the two axes; 0 before unit and format."""
        if self.unit is None or self.format is None:
            return 0.0
        return max(abs(self._step("x")), abs(self._step("y")))

    @property
    def mm(self) -> float:
        """Millimetres per unit of the file."""
        if self.unit is None:
            raise StatementError(
                "no unit before the first size or coordinate", "%MOMM*% or %MOIN*%, or G71 or G70"
            )
        return self.unit

    def _step(self, which: str) -> float:
        """Millimetres per last digit, the factor on coordinates applied."""
        if self.format is None:
            raise StatementError(
                "coordinate without a number format", "a format such as %FSLAX46Y46*%"
            )
        decimals = (self.format.x if which == "x" else self.format.y)[1]
        factor = self.factor_x if which == "x" else self.factor_y
        return self.mm * factor / 10.0**decimals

    def coordinate(self, text: str, which: str) -> float:
        """A coordinate in mm, the factor on coordinates applied."""
        step = self._step(which)
        assert self.format is not None  # or _step had raised
        whole, decimals = self.format.x if which == "x" else self.format.y
        digits = text.lstrip("+-")
        if len(digits) > 20 or digits.count(".") > 1 or not digits.strip("."):
            raise StatementError(f"coordinate {quoted(text)}", "a number of up to 20 digits")
        if "." in digits:
            count = float(digits) * 10.0**decimals
        elif self.format.trailing_zeros_omitted:
            count = int(digits.ljust(whole + decimals, "0"))
        else:
            count = int(digits)
        value = count * (-step if text[0] == "-" else step)
        if abs(value) > LARGEST:
            raise StatementError(
                f"coordinate {quoted(text)} is {value:.4g} mm", f"at most {LARGEST:g} mm",
                "check the number format and the unit",
            )  # fmt: skip
        return value

    def length(self, text: str, what: str) -> float:
        """A decimal length in the file's unit, in mm."""
        return number(text, what) * self.mm


def number(text: str, what: str) -> float:
    """A finite decimal number."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise StatementError(f"{what} {quoted(text)}", "a number")
    return value


def check_size(size: float, what: str) -> float:
    """A size in mm that can be made; 0 is legal and draws nothing."""
    if not math.isfinite(size) or not 0 <= size <= LARGEST:
        raise StatementError(f"{what} is {size:.4g} mm wide", f"0 to {LARGEST:g} mm")
    return size
