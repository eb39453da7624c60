"""Configuration files and boards, written for a test."""

import zipfile
from pathlib import Path

from checker.config import NAME

GERBER = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.0*%\nD10*\nX0Y0D03*\nM02*\n"


def say(folder: Path, text: str) -> Path:
    """Write what is configured in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / NAME
    path.write_text(text, encoding="utf-8")
    return path


def board(folder: Path, *names: str) -> Path:
    """A folder that holds Gerber files, one unless names are given."""
    for name in names or ("top.gbr",):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(GERBER, encoding="utf-8")
    return folder


def archive(path: Path, text: str = GERBER, name: str = "top.gbr") -> Path:
    """A zip archive with one file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(path, "w") as opened:
        opened.writestr(name, text)
    return path
