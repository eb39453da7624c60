"""Gerber texts for tests, and what the reader makes of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely

from checker.read.gerber import GerberFile, flatten, parse_gerber

SHARED = Path(__file__).parents[3].parent / "shared"
needs_boards = pytest.mark.skipif(
    not (SHARED / "boards").is_dir(), reason="the open boards are not beside the checkout"
)
needs_conformance = pytest.mark.skipif(
    not (SHARED / "conformance").is_dir(),
    reason="the conformance files are not beside the checkout",
)

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n"


def read(*lines: str, head: str = HEAD, end: str = "M02*\n") -> GerberFile:
    """The file of these lines between a head (millimetres, 4.6) and an end."""
    return parse_gerber(head + "\n".join(lines) + "\n" + end, "layer.gbr")


def xy(x: float, y: float) -> str:
    """Coordinates in the format of `HEAD`."""
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}"


def ij(i: float, j: float) -> str:
    """An offset in the format of `HEAD`."""
    return f"I{round(i * 1e6)}J{round(j * 1e6)}"


def image(*lines: str, head: str = HEAD) -> Any:
    """What remains of these lines, as one geometry."""
    islands, _ = flatten(read(*lines, head=head).objects)
    return shapely.multipolygons(islands)


def area(*lines: str, head: str = HEAD) -> float:
    """Its area in mm2."""
    return float(image(*lines, head=head).area)


def macro(*texts: str, parameters: str = "") -> tuple[str, ...]:
    """Lines that define a macro of these statements and flash it at the origin."""
    body = "\n".join(f"{text}*" for text in texts)
    return (f"%AMPAD*\n{body}%", f"%ADD10PAD{parameters}*%", "D10*", "X0Y0D03*")


def texts(file: GerberFile) -> list[str]:
    """The texts of its notes."""
    return [note.text for note in file.notes]
