"""Random boards as files for relief: copper of random layouts; boards of pads, traces, pours."""

from __future__ import annotations

import math
from random import Random
from typing import TYPE_CHECKING, Any

import shapely
from shapely import LineString, Point, box

from checker.process import load_profile
from checker.read.package import Package, SourceFile
from checker.relief.make import Made, make
from checker.relief.model import Options
from tests.layouts import layout

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

PROFILE = "cone-20-0.1"
_HEAD = ("%TF.FileFunction,{}*%", "%TF.FilePolarity,Positive*%", "%FSLAX46Y46*%", "%MOMM*%")
_SIDES = {"top": "Copper,L1,Top", "bottom": "Copper,L2,Bot"}


def package_of(texts: dict[str, str]) -> Package:
    """Files as the reader finds them in a folder."""
    kinds = {".gbr": "gerber", ".drl": "drill"}
    files = [SourceFile(name, kinds[name[-4:]], text) for name, text in sorted(texts.items())]
    return Package("board", tuple(files), ())


def relieved(texts: dict[str, str], profile: str = PROFILE, options: Options | None = None) -> Made:
    """What relief makes of a board's texts."""
    contents = {name: text.encode() for name, text in texts.items()}
    return make(package_of(texts), contents, {}, load_profile(profile), options)


def texts_after(texts: dict[str, str], made: Made) -> dict[str, str]:
    """The board's texts once relieved."""
    return texts | {name: content.decode() for name, content in made.files.items()}


def at(x: float, y: float, code: int) -> str:
    """A coordinate with what to do there."""
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}D0{code}*"


def region(points: Iterable[Sequence[float]]) -> list[str]:
    """A filled contour."""
    first, *others = points
    rest = (at(point[0], point[1], 1) for point in others)
    return ["G36*", at(first[0], first[1], 2), *rest, "G37*"]


def polygon(island: Any) -> list[str]:
    """A polygon as a dark contour and a clear one for each of its holes."""
    lines = ["%LPD*%", *region(island.exterior.coords)]
    for ring in island.interiors:
        lines += ["%LPC*%", *region(ring.coords)]
    return [*lines, "%LPD*%"]


def layer(side: str, *lines: str) -> str:
    """A copper layer."""
    head = [line.format(_SIDES[side]) for line in _HEAD]
    return "\n".join([*head, *lines, "M02*", ""])


def layout_texts(family: str, seed: int) -> dict[str, str]:
    """A random layout as a board of two sides, every island a region and a net of its own."""
    texts = {}
    for side, number in (("top", seed), ("bottom", seed + 100_000)):
        lines = []
        islands = sorted(
            layout(family, number), key=lambda one: -shapely.Polygon(one.exterior).area
        )
        for net, island in enumerate(islands):
            lines += [f"%TO.N,{side}{net}*%", *polygon(island)]
        texts[f"{side}.gbr"] = layer(side, *lines)
    return texts


class _Sheet:
    """Pads, traces and a pour of one side on their way to text."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.placed: list[tuple[int, Any]] = []  # net and copper
        self.lines: list[str] = []
        self.pens: dict[str, int] = {}

    def free(self, net: int, shape: Any, clearance: float) -> bool:
        return all(one == net or shape.distance(other) >= clearance for one, other in self.placed)

    def select(self, shape: str, function: str) -> None:
        key = f"%TA.AperFunction,{function}*%\n%ADD{{}}{shape}*%\n%TD.AperFunction*%"
        number = self.pens.setdefault(key, 10 + len(self.pens))
        self.lines.append(f"D{number}*")

    def text(self, side: str) -> str:
        pens = [key.format(number) for key, number in self.pens.items()]
        return layer(side, *pens, "G01*", "%LPD*%", *self.lines)


def drawn_texts(seed: int) -> dict[str, str]:
    """A board of one side with pads, some drilled, traces, and a pour round it all."""
    rng = Random(f"drawn {seed}")
    sheet, clearance = _Sheet(rng), rng.choice([0.12, 0.15, 0.2, rng.uniform(0.1, 0.3)])
    size, nets, drills = rng.uniform(5.0, 8.0), rng.randrange(3, 7), []
    for pin in range(rng.randrange(6, 14)):
        net, x, y = rng.randrange(nets), rng.uniform(0.5, size), rng.uniform(0.5, size)
        hole = rng.choice([0.0, 0.0, 0.8])
        if hole:
            width = rng.uniform(1.3, 2.0)
            shape, text = Point(x, y).buffer(width / 2, quad_segs=32), f"C,{width:.6f}"
        else:
            width, height = rng.uniform(0.3, 1.2), rng.uniform(0.4, 1.6)
            shape = box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            text = f"R,{width:.6f}X{height:.6f}"
        if not sheet.free(net, shape, clearance):
            continue
        sheet.placed.append((net, shape))
        sheet.lines += [f"%TO.N,N{net}*%", f"%TO.P,U{net + 1},{pin}*%"]
        sheet.select(text, "ComponentPad" if hole else "SMDPad,CuDef")
        sheet.lines += [at(x, y, 3), "%TD.P*%"]
        drills += [(x, y)] if hole else []
    starts = [(net, shape.centroid) for net, shape in sheet.placed]
    for net, start in starts:
        pen, points = rng.choice([0.2, 0.25, 0.3, 0.4, 0.5]), [(start.x, start.y)]
        for _ in range(rng.randrange(1, 4)):
            angle, far = rng.randrange(8) * math.pi / 4, rng.uniform(0.5, 2.5)
            x, y = points[-1]
            points.append((x + far * math.cos(angle), y + far * math.sin(angle)))
        trace = LineString(points).buffer(pen / 2, quad_segs=32)
        if sheet.free(net, trace, clearance):
            sheet.placed.append((net, trace))
            sheet.lines.append(f"%TO.N,N{net}*%")
            sheet.select(f"C,{pen:.6f}", "Conductor")
            sheet.lines += [at(*points[0], 2), *(at(*point, 1) for point in points[1:])]
    if rng.random() < 0.7:
        _pour(sheet, size, clearance)
    texts = {"top.gbr": sheet.text("top")}
    if drills:
        holes = [f"X{x:.4f}Y{y:.4f}" for x, y in drills]
        texts["holes.drl"] = "\n".join(["M48", "METRIC", "T1C0.800", "%", "T1", *holes, "M30", ""])
    return texts


def _pour(sheet: _Sheet, size: float, clearance: float) -> None:
    others = shapely.union_all([shape for _, shape in sheet.placed]).buffer(clearance, quad_segs=16)
    fill = box(-1, -1, size + 1, size + 1).difference(others).buffer(-0.13).buffer(0.13)
    sheet.lines += ["%TO.N,GND*%", "%TA.AperFunction,Conductor*%"]
    for part in sorted(shapely.get_parts(fill), key=lambda one: -one.area):
        if part.area > 0.2 and len(part.interiors) < 40:
            whole = all(not part.contains(other) for _, other in sheet.placed)
            sheet.lines += polygon(part) if whole else []
    sheet.lines.append("%TD.AperFunction*%")
