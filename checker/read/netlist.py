"""IPC-D-356 and 356A netlists: test records to the points, nets, components and pins they name.

Columns are 1-based as in the standard: 1-3 record, 4-17 net, 21-26 component, 28-31 pin, 33-37
hole diameter, 38 plating, 39-41 access side, 42-49 and 50-57 place. Records 317 (through hole),
327 (surface) and 337 (tooling feature) name points of copper; unplated holes (347, 367) hold no
net, and conductors, adjacency and outlines (378, 379, 389) are seen in the copper itself.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.board import Pin
from checker.errors import ReadError
from checker.read.remarks import Remarks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Note

_UNITS = {"0": 0.00254, "1": 0.001, "2": 0.00254}  # mm per step of P UNITS CUST n
_POINT_RECORDS = ("317", "327", "337")
# Unplated holes hold no net; conductors, adjacency and outlines are seen in the copper.
_OTHER_RECORDS = ("347", "367", "370", "378", "379", "389", "399")
_PLACE = re.compile(r"X([-+ ]?\d{1,9})Y([-+ ]?\d{1,9})(?!\d)")
_ACCESS = re.compile(r"A(\d\d)")
_HOLE = re.compile(r"D(\d{4,5})([PU ])")
_ALIAS = re.compile(r"P\s+(NNAME\S+)\s+(\S+)")
NO_NET = ("", "N/C")
MOST_LINES = 200_000  # the largest netlist met has 6 600


class Point(Struct, frozen=True):
    """One test record.

    Attributes:
        layer: access layer counted from 1 at the top, 0 both sides.
        hole: hole diameter in mm, 0 without one.
    """

    net: str
    component: str
    pin: str
    x: float
    y: float
    layer: int
    hole: float
    line: int


class Netlist(Struct, frozen=True, eq=False):
    """What a netlist file says."""

    name: str
    points: tuple[Point, ...]
    notes: tuple[Note, ...]

    def pins(self, layer_count: int) -> tuple[Pin, ...]:
        """The points with the side each is reached from, on a board of so many copper layers."""
        last = max([layer_count, *(p.layer for p in self.points)], default=0)
        side = {0: None, 1: "top", last: "bottom"} if last > 1 else {0: None, 1: "top"}
        if layer_count > 2 and max((p.layer for p in self.points), default=0) == 2:
            side[2] = "bottom"  # many exporters count the sides, not the layers
        return tuple(
            Pin(
                point.net,
                point.component or None,
                point.pin or None,
                point.x,
                point.y,
                side.get(point.layer, f"inner {point.layer - 1}"),
            )
            for point in self.points
        )


def parse_netlist(text: str, name: str) -> Netlist:
    """Read the records; lines that are none are noted and left out.

    Raises:
        ReadError: more lines than any board needs.
    """
    lines = text.count("\n")
    if lines > MOST_LINES:
        advice = "leave it out with --layer ignore=FILE"
        raise ReadError(name, f"{lines} lines", f"at most {MOST_LINES}", advice)
    scale = _UNITS["0"]
    aliases: dict[str, str] = {}
    points: list[Point] = []
    remarks = Remarks()
    units_said = False
    for number, line in enumerate(text.split("\n"), 1):
        record = line[:3]
        if line.startswith("P"):
            alias = _ALIAS.match(line)
            units = re.match(r"P\s+UNITS\s+(CUST\s*)?(\S*)", line)
            if alias:
                aliases[alias[1]] = alias[2]
            elif units:
                units_said = True
                scale = {"SI": 0.001}.get(units[2], _UNITS.get(units[2] or "0", scale))
        elif record in _POINT_RECORDS:
            point = _point(line, scale, number)
            if point is None:
                remarks.add(number, "record without a place; left out")
            else:
                points.append(point)
        elif record == "999":
            break
        elif record == "027" or line.strip() == "" or line[0] in "C0#" or record in _OTHER_RECORDS:
            continue
        else:
            remarks.add(number, f"ignored: {line[:20].strip()}")
    if not units_said:
        remarks.add(0, "no P UNITS line: read in steps of 0.0001 inch")
    named = tuple(replace(p, net=aliases.get(p.net, p.net)) for p in points)
    return Netlist(name, named, remarks.notes(name))


def _point(line: str, scale: float, number: int) -> Point | None:
    place = _PLACE.search(line, 30)
    if place is None:
        return None
    component = line[20:26].strip()
    access = _ACCESS.search(line, 30)
    hole = _HOLE.search(line, 30)
    return Point(
        line[3:17].strip(),
        "" if component == "VIA" else component,
        line[27:31].strip(),
        int(place[1].replace(" ", "")) * scale,
        int(place[2].replace(" ", "")) * scale,
        int(access[1]) if access else 0,
        int(hole[1]) * scale if hole else 0.0,
        number,
    )


def largest(netlists: Sequence[Netlist]) -> Netlist | None:
    """The netlist with the most points, None where there is none."""
    return max(netlists, key=lambda n: len(n.points), default=None)
