"""What is fuzzed: each takes any bytes, and may raise nothing but a `CheckerError`."""

from __future__ import annotations

import zipfile
from contextlib import suppress
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from checker.config import NAME, boards_named, config_of
from checker.errors import CheckerError
from checker.process import load_profile
from checker.read import read_package
from checker.read.drilling import read_drilling
from checker.read.edge import HOW_PROFILE, Candidate, choose_edge, cut_out
from checker.read.excellon import INCH, NumberFormat, parse_drill
from checker.read.gerber import flatten, parse_gerber
from checker.read.jobfile import parse_job
from checker.read.machine import drill_holes
from checker.read.names import Role
from checker.read.netlist import parse_netlist
from checker.read.nets import DrawnLayer, name_nets
from checker.read.note import read_note
from checker.read.outline import centre_lines, contours
from checker.read.package import SourceFile, board_format, decode, open_package
from checker.read.parts import read_parts
from checker.read.roles import Identified
from tests.read.made import gerber, pads

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from checker.read.gerber import GerberFile

NETS = ("GND", "12V", "LIVE", "NEUTRAL")
# A bundle of files is one text: before each file stands a line with its name.
MARK = b"=== "


def attempt(target: str, data: bytes, folder: Path) -> str:
    """One run of a target; the line that it refuses with, or "".

    Args:
        target: a key of `TARGETS`.
        data: what the file holds.
        folder: what needs a file writes it there.
    """
    try:
        TARGETS[target](data, folder)
    except CheckerError as fault:
        return str(fault)
    return ""


def _gerber_file(data: bytes) -> GerberFile:
    return parse_gerber(decode(data), "layer.gbr")


def _gerber(data: bytes, folder: Path) -> None:
    _gerber_file(data).islands(lambda text: None)


def _parts(data: bytes, folder: Path) -> None:
    file = _gerber_file(data)
    read_parts(file.objects, file.mounts, "top", file.name)


def _edge(data: bytes, folder: Path) -> None:
    objects = _gerber_file(data).objects
    ways = centre_lines(objects), contours(objects)
    centres = np.array([[2.0, 2.0], [8.0, 2.0], [50.0, 30.0]])
    chosen = choose_edge(
        [Candidate("edge.gbr", ways, HOW_PROFILE, True)], centres, np.array([[2.0, 2.0, 0.8]])
    )
    if chosen.outline is not None:
        cut_out(chosen.outline, [("edge.gbr", line) for line in ways[1]])


@cache
def _layer() -> DrawnLayer:
    """Twelve pads of 1 mm, as a layer whose nets are not known yet."""
    places = [(10.0 * i, 10.0 * j) for i in range(4) for j in range(3)]
    file = parse_gerber(gerber(pads(*places)), "top.gbr")
    return DrawnLayer("top", "top.gbr", file.objects, *flatten(file.objects), file.end)


def _drill(data: bytes, folder: Path) -> None:
    file = parse_drill(decode(data), "holes.drl")
    for numbers in (NumberFormat(1.0, 3, 3), NumberFormat(INCH, 2, 4, leading=True)):
        with suppress(CheckerError):
            drill_holes(file, numbers)


def _drilling(data: bytes, folder: Path) -> None:
    file = SourceFile("holes.drl", board_format(decode(data)), decode(data))
    read_drilling([Identified(file, Role("drill"), "its name", 4)], [_layer().islands])


def _netlist(data: bytes, folder: Path) -> None:
    parse_netlist(decode(data), "netlist.ipc").pins(2)


def _nets(data: bytes, folder: Path) -> None:
    netlist = parse_netlist(decode(data), "netlist.ipc")
    radii = np.array([point.hole / 2 for point in netlist.points])
    name_nets([_layer()], [], netlist.pins(2), radii, netlist.name, 0.001)


def _job(data: bytes, folder: Path) -> None:
    parse_job(decode(data), "job.gbrjob")


def _note(data: bytes, folder: Path) -> None:
    read_note(decode(data), "board-note.yaml", NETS)


def _profile(data: bytes, folder: Path) -> None:
    path = folder / "profile.yaml"
    path.write_bytes(data)
    load_profile(path)


def _config(data: bytes, folder: Path) -> None:
    (folder / ".git").mkdir(exist_ok=True)  # nothing above this folder counts
    (folder / NAME).write_bytes(data)
    config_of([folder])
    with suppress(CheckerError):
        boards_named(folder)


def _archive(data: bytes, folder: Path) -> None:
    path = folder / "board.zip"
    path.write_bytes(data)
    read_package(open_package([path]))


def files_of(bundle: bytes) -> dict[str, bytes]:
    """Name -> content of the files of a bundle."""
    files = {}
    for part in (b"\n" + bundle).split(b"\n" + MARK):
        name, _, content = part.partition(b"\n")
        files[name.decode("latin-1").replace("\0", "") or "file.gbr"] = content
    return files


def _board(data: bytes, folder: Path) -> None:
    path = folder / "board.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in files_of(data).items():
            archive.writestr(name, content)
    read_package(open_package([path]))


TARGETS: Mapping[str, Callable[[bytes, Path], None]] = {
    "gerber": _gerber,
    "parts": _parts,
    "edge": _edge,
    "drill": _drill,
    "drilling": _drilling,
    "netlist": _netlist,
    "nets": _nets,
    "job": _job,
    "note": _note,
    "profile": _profile,
    "config": _config,
    "archive": _archive,
    "board": _board,
}
