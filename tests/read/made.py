"""Small board files for the reader's tests, and the way to the open boards."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from checker.read.package import SourceFile, board_format

BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
needs_boards = pytest.mark.skipif(
    not BOARDS.is_dir(), reason="the folder of open boards is not beside the checkout"
)

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n"
PENS = "%ADD10C,1.0*%\n%ADD11C,0.1*%\n%ADD12R,1.0X2.0*%\n"


def at(x: float, y: float) -> str:
    """Coordinates in the number format of `HEAD`."""
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}"


def gerber(*lines: str, function: str = "") -> str:
    """A Gerber file in millimetres with pens D10 (1 mm), D11 (0.1 mm), D12 (1 x 2 mm)."""
    stated = f"%TF.FileFunction,{function}*%\n" if function else ""
    return stated + HEAD + PENS + "\n".join(lines) + "\nM02*\n"


def pads(*places: tuple[float, float], pen: int = 10) -> str:
    """Flashes of one pen."""
    return "\n".join([f"D{pen}*", *(f"{at(*place)}D03*" for place in places)])


def chain(*places: tuple[float, float], pen: int = 11) -> str:
    """Draws of one pen from place to place."""
    moves = [f"{at(*places[0])}D02*", *(f"{at(*place)}D01*" for place in places[1:])]
    return "\n".join([f"D{pen}*", "G01*", *moves])


def rectangle(x0: float, y0: float, x1: float, y1: float) -> str:
    """A closed chain of draws."""
    return chain((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))


def drill(*lines: str, head: str = "METRIC,TZ,000.000", tools: str = "T1C0.8") -> str:
    """A drill file with one tool in use."""
    return "\n".join(["M48", head, tools, "%", "T1", *lines, "M30", ""])


def write(folder: Path, files: dict[str, str]) -> Path:
    """Write files below a folder."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    return folder


def pack(archive: Path, files: dict[str, str]) -> Path:
    """Write files into a zip archive."""
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as out:
        for name, text in files.items():
            out.writestr(name, text)
    return archive


def source(name: str, text: str) -> SourceFile:
    """A file as the package gives it."""
    return SourceFile(name, board_format(text), text)


TWO_PADS = ((2.0, 2.0), (8.0, 2.0))


def two_sided() -> dict[str, str]:
    """A board of 10 x 5 mm: two pads on each side, drilled, with an edge."""
    return {
        "b-F_Cu.gbr": gerber(pads(*TWO_PADS), function="Copper,L1,Top"),
        "b-B_Cu.gbr": gerber(pads(*TWO_PADS), function="Copper,L2,Bot"),
        "b-Edge.gbr": gerber(rectangle(0, 0, 10, 5), function="Profile,NP"),
        "b.drl": drill("X2.0Y2.0", "X8.0Y2.0"),
    }


def reference(name: str) -> Any:
    """One of the JSON files beside the open boards."""
    return json.loads((BOARDS / name).read_text())
