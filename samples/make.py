"""Regenerates every sample: `python samples/make.py [FOLDER]`, by default beside this file.

The bytes depend on nothing but the scripts: no dates, no random numbers.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from samples.cases import cases
from samples.draw import files
from samples.layouts import coop_door, hive_scale, orchard_cam, tide_logger

_BOARDS = (coop_door, hive_scale, tide_logger, orchard_cam)
FOLDERS = ("boards", "rules")


def everything() -> dict[str, str]:
    """Path below the samples folder -> text, for every generated file."""
    texts = {}
    for board in (module.layout() for module in _BOARDS):
        for name, text in files(board, netlist=board.name == "hive-scale").items():
            texts[f"boards/{board.name}/{name}"] = text
    for rule, case in cases().items():
        for which, board in (("bad", case.bad), ("good", case.good)):
            for name, text in files(board).items():
                texts[f"rules/{rule}/{which}/{name}"] = text
        for name, text in case.profiles.items():
            texts[f"rules/{rule}/{name}"] = text
    return texts


def write(folder: Path) -> None:
    """Write all samples below the folder, in place of those that are there."""
    for part in FOLDERS:
        shutil.rmtree(folder / part, ignore_errors=True)
    for name, text in everything().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
