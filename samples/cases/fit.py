"""Cases of the rules on files that do not fit each other, and on what a layer shows as a whole."""

from __future__ import annotations

import re

import shapely

from samples import parts
from samples.cases.case import Case
from samples.layout import Layout, Pour

_LARGE = """\
# A machine and a blank that take a board of any size.
based_on: cone-30-0.1
machine:
  travel: none
stock:
  size: none
"""
_TO_THE_EDGE = """\
# Copper may run up to the edge, which is not cut out.
based_on: cone-30-0.1
outline:
  edge_clearance: none
"""
_HOT_IRON = """\
# An iron that heats a plane of any size.
based_on: cone-30-0.1
joints:
  plane_area: none
"""
_WIDTH = 60.0


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    lamp = _lamp()
    return {
        "misfit-sides": Case(lamp, lamp, retouch=_mirrored),
        "misread-size": Case(lamp, lamp, {"profile.yaml": _LARGE}, _digit_less),
        "flooded-layer": Case(
            _sensor(0.0), _sensor(0.6), {"profile.yaml": _HOT_IRON}, _without_nets
        ),
        "unsure-plating": Case(_strap(0.0), _strap(2.0), retouch=_plating_unstated),
        "outline-in-copper": Case(_lamp(edge=0.3), lamp, {"bad/profile.yaml": _TO_THE_EDGE}),
    }


def _lamp(edge: float = 0.0) -> Layout:
    """A lamp with switch and resistor on the left of a board; an edge drawn in copper as wide."""
    board = Layout("lamp", (_WIDTH, 24.0), sides=("bottom",), plated=False)
    board.place(parts.terminal(2), "J1", 6.5, 12.0, ["GND", "SUPPLY"], turn=1)
    board.place(parts.header(2), "SW1", 13.0, 17.0, ["SUPPLY", "SWITCHED"])
    board.place(parts.axial(), "R1", 19.5, 12.5, ["SWITCHED", "LAMP"])
    board.place(parts.radial(2.54, 5.0, pad=1.6), "LED1", 22.0, 6.0, ["GND", "LAMP"])
    board.track("bottom", 0.8, "SUPPLY", (6.5, 14.54), (6.5, 17.0), (11.73, 17.0))
    board.track("bottom", 0.8, "SWITCHED", (14.27, 17.0), (14.42, 12.5))
    board.track("bottom", 0.8, "LAMP", (24.58, 12.5), (24.58, 7.5), (23.27, 6.0))
    board.track("bottom", 0.8, "GND", (6.5, 9.46), (6.5, 6.0), (20.73, 6.0))
    if edge:
        width, height = board.size
        corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0))
        board.track("bottom", edge, "", *corners)
    return board


def _mirrored(files: dict[str, str]) -> dict[str, str]:
    """The bottom as seen from below."""
    flip = re.compile(r"^X(-?\d+)", re.MULTILINE)
    wide = round(_WIDTH * 1e6)
    for name in ("copper-bottom.gbr", "mask-bottom.gbr"):
        files[name] = flip.sub(lambda found: f"X{wide - int(found[1])}", files[name])
    return files


def _digit_less(files: dict[str, str]) -> dict[str, str]:
    """The edge with six decimal digits, said to be five."""
    del files["job.gbrjob"]
    files["profile.gbr"] = files["profile.gbr"].replace("%FSLAX46Y46*%", "%FSLAX45Y45*%")
    return files


def _sensor(clearance: float) -> Layout:
    """A sensor on a ground plane, with a plane that has no clearances for 0."""
    board = Layout("sensor", (100.0, 80.0), sides=("bottom",), plated=False)
    board.place(parts.header(4), "J1", 50.0, 20.0, ["GND", "SUPPLY", "DATA", "CLOCK"])
    board.place(parts.header(4), "U1", 50.0, 60.0, ["GND", "SUPPLY", "DATA", "CLOCK"])
    for pin, net in enumerate(("SUPPLY", "DATA", "CLOCK"), 1):
        x = round(50.0 + 2.54 * pin - 3.81, 4)
        board.track("bottom", 0.5, net, (x, 20.0), (x, 60.0))
    whole = shapely.box(0.9, 0.9, 99.1, 79.1)
    if clearance:
        whole = shapely.difference(whole, shapely.box(44.79, 18.5, 56.0, 61.5))
    board.pours.append(Pour("bottom", whole, "GND"))
    return board


def _without_nets(files: dict[str, str]) -> dict[str, str]:
    """No names of nets."""
    text = files["copper-bottom.gbr"]
    files["copper-bottom.gbr"] = re.sub(r"%T[OD]\.N[^%]*%\n", "", text)
    return files


def _strap(room: float) -> Layout:
    """A ground on both sides and a hole for a wire strap, which fields of copper leave free."""
    board = Layout("strap", (40.0, 24.0))
    for part, x in (("J1", 8.0), ("J2", 32.0)):
        board.place(parts.header(1), part, x, 12.0, ["GND"])
    board.holes.append((20.0, 16.0, 1.5))
    board.holes += [(x, y, 3.2) for x in (4.0, 36.0) for y in (4.0, 20.0)]
    hole = shapely.box(20.0 - room, 16.0 - room, 20.0 + room, 16.0 + room)
    field = shapely.box(14.0, 10.0, 26.0, 20.0)
    for x in (12.0, 28.0):
        board.via(x, 12.0, "GND", 2.2, 0.9)
    for side, left, right in (("top", 12.0, 28.0), ("bottom", 8.0, 32.0)):
        area = shapely.difference(field, hole) if room else field
        board.pours.append(Pour(side, area, "GND"))
        board.track(side, 0.8, "GND", (left, 12.0), (right, 12.0))
    return board


def _plating_unstated(files: dict[str, str]) -> dict[str, str]:
    """The small holes in files that say nothing of plating, and no job file that does."""
    del files["job.gbrjob"]
    for number, name in enumerate(("holes-plated.drl", "holes-unplated.drl"), 1):
        text = files.pop(name)
        files[f"holes-{number}.drl"] = re.sub(r"; #@! T[FAD].*\n", "", text)
    return files
