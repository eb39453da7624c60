"""Boards judged as the command does, for the tests of what machines read."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path

from msgspec.structs import replace

from checker.engine import check, reach_for
from checker.measure import measure
from checker.process import DEFAULT_PROFILE, load_profile
from checker.read import read_board
from checker.report.judged import Judged

SAMPLES = Path(__file__).parents[2] / "samples"
SCRIPT = "<script>alert(1)</script>"
# A link, a placeholder, commands of a workflow, markup of a terminal.
EVIL = SCRIPT + "[x](http://y) {0} ::error:: ]]> &amp; ' \" [bold]"


def judge(*paths: Path, profile: str | Path = DEFAULT_PROFILE) -> Judged:
    process = load_profile(profile)
    board = read_board(paths)
    facts = measure(board, reach_for(process))
    return Judged(check(board, process, facts=facts), facts, paths)


def sample(name: str, profile: str = DEFAULT_PROFILE) -> Judged:
    """A folder of samples, by the profile that lies in it or beside it, or the one named."""
    return replace(_judged_sample(name, profile))  # it knows nothing yet of the working folder


@cache
def _judged_sample(name: str, profile: str) -> Judged:
    folder = SAMPLES / name
    own = (folder / "profile.yaml", folder.parent / "profile.yaml")
    return judge(folder, profile=next(filter(Path.exists, own), profile))


def evil_board(folder: Path) -> Path:
    """A board with a fault, a net and a folder whose names try to do harm."""
    board = folder / 'a "b"\n::error::\'<i>,%:'
    shutil.copytree(SAMPLES / "rules" / "uncuttable-gap" / "bad", board)
    copper = board / "copper-bottom.gbr"
    name = "".join(f"\\u{ord(c):04X}" if c in '%*,\\"' else c for c in EVIL)
    copper.write_text(copper.read_text().replace("TO.N,LINE*", f"TO.N,{name}*"))
    return board
