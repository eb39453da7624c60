"""Regenerates samples: `python samples/make.py [--into FOLDER] [PART ...]`, by default all of them.

A part is a folder below this one, such as `boards/coop-door` or `rules/thin-copper`. The bytes
depend on nothing but the scripts: no dates, no random numbers.
"""

from __future__ import annotations

import argparse
import shutil
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from samples.cases import all_cases
from samples.draw import files
from samples.layouts import coop_door, hive_scale, orchard_cam, tide_logger

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from types import ModuleType

HERE = Path(__file__).resolve().parent
FOLDERS = ("boards", "rules")
_BOARDS = (coop_door, hive_scale, tide_logger, orchard_cam)


def everything() -> dict[str, Callable[[], dict[str, str]]]:
    """Folder below the samples folder -> what draws its files, path within it -> text."""
    made: dict[str, Callable[[], dict[str, str]]] = {}
    for module in _BOARDS:
        name = module.__name__.rpartition(".")[2].replace("_", "-")
        made[f"boards/{name}"] = partial(_board, module)
    for rule, case in all_cases().items():
        made[f"rules/{rule}"] = case.files
    return made


def _board(module: ModuleType) -> dict[str, str]:
    layout = module.layout()
    texts = files(layout, netlist=layout.name == "hive-scale")
    note: str | None = getattr(module, "NOTE", None)
    return texts if note is None else texts | {"board-note.yaml": note}


def write(into: Path, parts: Sequence[str] = ()) -> None:
    """Write samples below a folder in place of those that are there; all of them without parts."""
    made = everything()
    unknown = sorted(set(parts) - set(made))
    if unknown:
        raise SystemExit(f"{unknown[0]} is no sample; there are {', '.join(made)}")
    texts = {part: made[part]() for part in parts or made}
    for stale in parts or FOLDERS:
        shutil.rmtree(into / stale, ignore_errors=True)
    for part, files_of_it in texts.items():
        for name, text in files_of_it.items():
            path = into / part / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    arguments = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    arguments.add_argument("--into", type=Path, default=HERE)
    arguments.add_argument("part", nargs="*")
    asked = arguments.parse_args()
    write(asked.into, [part.strip("/") for part in asked.part])
