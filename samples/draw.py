"""Writes a layout as Gerber X2 layers, XNC drill files, a job file and an IPC-D-356 netlist.

After the Gerber layer format: chapter 5 for the attributes, clauses 6.4 for pads as flashes, 6.5
for the profile, 6.6 for drill files and 6.9 for component layers. Rows of the netlist have the
columns of IPC-D-356A.
"""

from __future__ import annotations

import json
import re
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import shapely

from samples.layout import Arc

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from samples.layout import Layout, Pad, Point

_MASK_OPENING = 0.1  # wider than the pad by this much in all; common trade practice
_LEGEND_PEN = 0.15
_OUTLINE_PEN = 0.1
_MAKER = "Cutworthy samples"


def files(layout: Layout, netlist: bool = False) -> dict[str, str]:
    """Every file of the board: name -> text with plain line ends."""
    texts = {f"copper-{side.replace(' ', '-')}.gbr": _copper(layout, side) for side in layout.sides}
    for side in ("top", "bottom"):
        if side in layout.sides:
            texts[f"mask-{side}.gbr"] = _mask(layout, side)
    texts["legend-top.gbr"] = _legend(layout)
    if layout.placed:
        texts["components-top.gbr"] = _components(layout)
    texts["profile.gbr"] = _profile(layout)
    texts |= _drills(layout)
    texts["job.gbrjob"] = _job(layout, texts)
    if netlist:
        texts["netlist.ipc"] = _netlist(layout)
    return texts


class _Writer:
    """One Gerber file: apertures are defined as they are met, attributes change only on need."""

    def __init__(self, layout: Layout, function: str, polarity: str = "Positive") -> None:
        self._head = [
            f"%TF.GenerationSoftware,{_MAKER},make.py*%",
            "%TF.Part,Single*%",
            f"%TF.FileFunction,{function}*%",
            f"%TF.FilePolarity,{polarity}*%",
            f"%TF.SameCoordinates,{layout.name}*%",
            "%FSLAX46Y46*%",
            "%MOMM*%",
        ]
        self._apertures: dict[tuple[str, str], int] = {}
        self._body: list[str] = ["G01*", "%LPD*%"]
        self._selected = 0
        self._attributes: dict[str, str] = {}
        self._dark = True

    def text(self) -> str:
        definitions = []
        for (template, function), number in self._apertures.items():
            definitions.append(f"%TA.AperFunction,{function}*%")
            definitions.append(f"%ADD{number}{template}*%")
        if definitions:
            definitions.append("%TD.AperFunction*%")
        return "\n".join([*self._head, *definitions, *self._body, "M02*", ""])

    def attributes(self, **wanted: str) -> None:
        """Set the object attributes to exactly these (N, P, C ...), deleting what is not wanted."""
        self._body += [f"%TD.{key}*%" for key in self._attributes if key not in wanted]
        for key, value in wanted.items():
            if self._attributes.get(key) != value:
                self._body.append(f"%TO.{key},{value}*%")
        self._attributes = wanted

    def polarity(self, dark: bool) -> None:
        if dark != self._dark:
            self._body.append("%LPD*%" if dark else "%LPC*%")
            self._dark = dark

    def flash(self, shape: str, width: float, height: float, function: str, at: Point) -> None:
        letter = {"circle": "C", "rect": "R", "obround": "O"}[shape]
        size = f"{width:.6g}" if shape == "circle" else f"{width:.6g}X{height:.6g}"
        self.stamp(f"{letter},{size}", function, at)

    def stamp(self, template: str, function: str, at: Point) -> None:
        self._select(template, function)
        self._body.append(f"{_xy(at)}D03*")

    def line(self, pen: float, function: str, points: Iterable[Point | Arc]) -> None:
        self._select(f"C,{pen:.6g}", function)
        self._path(points)

    def region(self, function: str, points: Iterable[Point]) -> None:
        self._body.append(f"%TA.AperFunction,{function}*%")
        self._body.append("G36*")
        self._path(points)
        self._body += ["G37*", "%TD.AperFunction*%"]

    def _path(self, points: Iterable[Point | Arc]) -> None:
        first, *rest = points
        assert not isinstance(first, Arc)
        self._body.append(f"{_xy(first)}D02*")
        at = first
        for step in rest:
            if isinstance(step, Arc):
                i, j = step.centre[0] - at[0], step.centre[1] - at[1]
                offset = f"I{round(i * 1e6)}J{round(j * 1e6)}"
                turn = "G02*" if step.clockwise else "G03*"
                self._body += ["G75*", turn, f"{_xy(step.end)}{offset}D01*", "G01*"]
            else:
                self._body.append(f"{_xy(step)}D01*")
            at = step.end if isinstance(step, Arc) else step

    def _select(self, template: str, function: str) -> None:
        number = self._apertures.setdefault((template, function), len(self._apertures) + 10)
        if number != self._selected:
            self._body.append(f"D{number}*")
            self._selected = number


def _xy(point: Point) -> str:
    return f"X{round(point[0] * 1e6)}Y{round(point[1] * 1e6)}"


def _copper(layout: Layout, side: str) -> str:
    number = layout.sides.index(side) + 1
    position = {"top": "Top", "bottom": "Bot"}.get(side, "Inr")
    writer = _Writer(layout, f"Copper,L{number},{position}")
    for pour in (pour for pour in layout.pours if pour.side == side):
        writer.attributes(N=pour.net)
        for area in shapely.get_parts(pour.area):
            if pour.holes_as == "cut-in":
                writer.region("Conductor", _cut_in(area))
                continue
            writer.region("Conductor", area.exterior.coords)
            writer.polarity(dark=False)
            for ring in area.interiors:
                writer.region("Conductor", ring.coords)
            writer.polarity(dark=True)
    for track in (track for track in layout.tracks if track.side == side):
        writer.attributes(N=track.net)
        writer.line(track.width, "Conductor", track.points)
    for pad in (pad for pad in layout.pads if side in pad.sides):
        writer.attributes(**_pad_attributes(pad, position != "Inr"))
        writer.flash(pad.shape, pad.width, pad.height, pad.function, (pad.x, pad.y))
    return writer.text()


def _pad_attributes(pad: Pad, outer: bool) -> dict[str, str]:
    """Net, pin and part; pins are named on outer layers only, a lone pin is of the net N/C."""
    wanted = {"N": pad.net or "N/C"}
    if pad.part and outer:
        wanted |= {"P": f"{pad.part},{pad.pin}", "C": pad.part}
    return wanted


def _cut_in(area: Any) -> list[Point]:
    """One contour round an area with holes: each hole is reached over a zero-width cut.

    The holes are taken from left to right; each is joined, at its leftmost point, by a level
    line to the nearest edge on its left, which by then is part of the contour.
    """
    contour = [(x, y) for x, y in area.exterior.coords]
    rings = [[(x, y) for x, y in ring.coords[:-1]] for ring in area.interiors]
    for ring in sorted(rings, key=min):
        start = ring.index(min(ring))
        x, y = ring[start]
        hits = []
        for place, ((x0, y0), (x1, y1)) in enumerate(pairwise(contour)):
            if min(y0, y1) <= y <= max(y0, y1) and y0 != y1:
                hit = x0 + (y - y0) * (x1 - x0) / (y1 - y0)
                if hit < x:
                    hits.append((hit, place))
        hit, place = max(hits)
        around = [*ring[start:], *ring[: start + 1]]
        contour[place + 1 : place + 1] = [(hit, y), *around, (hit, y)]
    return contour


def _mask(layout: Layout, side: str) -> str:
    writer = _Writer(layout, f"Soldermask,{'Top' if side == 'top' else 'Bot'}", "Negative")
    for pad in (pad for pad in layout.pads if side in pad.sides and pad.part):
        width, height = pad.width + _MASK_OPENING, pad.height + _MASK_OPENING
        writer.flash(pad.shape, width, height, "Material", (pad.x, pad.y))
    for x, y, diameter in layout.holes:
        size = diameter + _MASK_OPENING
        writer.flash("circle", size, size, "Material", (x, y))
    return writer.text()


def _legend(layout: Layout) -> str:
    writer = _Writer(layout, "Legend,Top")
    for points in layout.legend():
        writer.line(_LEGEND_PEN, "NonConductor", points)
    return writer.text()


def _components(layout: Layout) -> str:
    """The parts: a flash with the main data, the body's outline, the pins; pin 1 is the key."""
    writer = _Writer(layout, "Component,L1,Top")
    bodies = dict(layout.bodies)
    for part, (x, y, turn) in layout.placed.items():
        pads = [pad for pad in layout.pads if pad.part == part]
        mount = "TH" if all(pad.hole for pad in pads) else "SMD"
        main = {"C": part, "CMnt": mount, "CRot": str(turn % 4 * 90)}
        writer.attributes(**main)
        writer.stamp("C,0.3", "ComponentMain", (x, y))
        left, bottom, right, top = bodies[part]
        corners = ((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))
        writer.line(_OUTLINE_PEN, "ComponentOutline,Body", corners)
        for place, pad in enumerate(pads):
            writer.attributes(**main, P=f"{part},{pad.pin}")
            shape = "C,0" if place else "P,0.36X4X0"
            writer.stamp(shape, "ComponentPin", (pad.x, pad.y))
    return writer.text()


def _profile(layout: Layout) -> str:
    writer = _Writer(layout, "Profile,NP")
    width, height = layout.size
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0))
    for edge in layout.edges or [corners]:
        writer.line(_OUTLINE_PEN, "Profile", edge)
    return writer.text()


def _drills(layout: Layout) -> dict[str, str]:
    """The drilled pads' holes and the unplated holes, each in a file of its own."""
    pads = [pad for pad in layout.pads if pad.hole]
    kinds: dict[str, list[tuple[str, float, tuple[Point, ...]]]] = {"plated": [], "unplated": []}
    for pad in pads:
        function = "ComponentDrill" if pad.part else "ViaDrill"
        kinds["plated" if layout.plated else "unplated"].append((function, pad.hole, _hole(pad)))
    for x, y, diameter in layout.holes:
        kinds["unplated"].append(("MechanicalDrill", diameter, ((x, y),)))
    return {
        f"holes-{kind}.drl": _xnc(layout, kind, holes) for kind, holes in kinds.items() if holes
    }


def _hole(pad: Pad) -> tuple[Point, ...]:
    """A round hole's centre, or both ends of a slot's centre line."""
    half = (pad.slot - pad.hole) / 2
    if half <= 0:
        return ((pad.x, pad.y),)
    dx, dy = (half, 0.0) if pad.width > pad.height else (0.0, half)
    return ((pad.x - dx, pad.y - dy), (pad.x + dx, pad.y + dy))


def _xnc(layout: Layout, kind: str, holes: list[tuple[str, float, tuple[Point, ...]]]) -> str:
    what = "Plated,1,{},PTH" if kind == "plated" else "NonPlated,1,{},NPTH"
    lines = [
        "M48",
        f"; #@! TF.GenerationSoftware,{_MAKER},make.py",
        "; #@! TF.Part,Single",
        f"; #@! TF.FileFunction,{what.format(len(layout.sides))}",
        "; #@! TF.FilePolarity,Positive",
        f"; #@! TF.SameCoordinates,{layout.name}",
        "METRIC",
    ]
    tools = sorted({(function, diameter) for function, diameter, _ in holes})
    for number, (function, diameter) in enumerate(tools, 1):
        lines += [f"; #@! TA.AperFunction,{function}", f"T{number:02}C{diameter:.3f}"]
    lines += ["; #@! TD", "%", "G05"]
    for number, tool in enumerate(tools, 1):
        lines.append(f"T{number:02}")
        for function, diameter, path in holes:
            if (function, diameter) == tool:
                lines += _hits(path)
    return "\n".join([*lines, "M30", ""])


def _hits(path: tuple[Point, ...]) -> Iterator[str]:
    places = [f"X{x:.4f}Y{y:.4f}" for x, y in path]
    if len(places) == 1:
        yield places[0]
    else:
        yield from (f"G00{places[0]}", "M15", f"G01{places[1]}", "M16", "G05")


def _job(layout: Layout, texts: dict[str, str]) -> str:
    """The job file; it carries no date, so that the same layout gives the same bytes."""
    attributes = [
        {"Path": name, **dict(re.findall(r"TF\.(FileFunction|FilePolarity),([^*\n]*)", text))}
        for name, text in texts.items()
    ]
    job = {
        "Header": {"GenerationSoftware": {"Vendor": _MAKER, "Application": "make.py"}},
        "GeneralSpecs": {
            "ProjectId": {"Name": layout.name, "Revision": "1"},
            "Size": {"X": layout.size[0], "Y": layout.size[1]},
            "LayerNumber": len(layout.sides),
            "BoardThickness": 1.6,
        },
        "FilesAttributes": attributes,
    }
    return json.dumps(job, indent=1) + "\n"


def _netlist(layout: Layout) -> str:
    """IPC-D-356 with micrometres (units CUST 1) and names of nets within 14 letters."""
    lines = ["C  " + layout.name, "P  JOB   " + layout.name.upper(), "P  UNITS CUST 1"]
    for pad in layout.pads:
        code, access = (317, 0) if pad.hole else (327, 1 if pad.sides == ("top",) else 2)
        hole = f"D{round(pad.hole * 1000):04}{'P' if layout.plated else 'U'}" if pad.hole else ""
        name = f"{pad.part:<6.6}-{pad.pin:<4.4}" if pad.part else f"{'VIA':<6}-{'':<4}"
        x, y = round(pad.x * 1000), round(pad.y * 1000)
        width, height = round(pad.width * 1000), round(pad.height * 1000)
        middle = " " if pad.part else "M"
        lines.append(
            f"{code}{pad.net or 'N/C':<14.14}   {name}{middle}{hole:<6}A{access:02}"
            f"X{x:+07}Y{y:+07}X{width:04}Y{height:04}R000 S0"
        )
    return "\n".join([*lines, "999", ""])
