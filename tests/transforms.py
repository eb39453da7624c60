"""One board in other words: moved, turned, mirrored with sides swapped, drawn in other order."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely import affinity

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.board import Board, CopperLayer, DrawnObjects, Shapes

MM_PER_INCH = 25.4


class Motion(Struct, frozen=True):
    """x' = a x + b y + dx, y' = c x + d y + dy; ``swap`` turns top into bottom."""

    a: float
    b: float
    c: float
    d: float
    dx: float
    dy: float
    swap: bool = False

    def point(self, x: float, y: float) -> tuple[float, float]:
        return self.a * x + self.b * y + self.dx, self.c * x + self.d * y + self.dy

    def shape(self, shape: Any) -> Any:
        if shape is None:
            return None
        moved = affinity.affine_transform(shape, [self.a, self.b, self.c, self.d, self.dx, self.dy])
        return shapely.orient_polygons(moved)

    def shapes(self, shapes: Shapes) -> Shapes:
        moved = np.empty(len(shapes), dtype=object)
        moved[:] = [self.shape(shape) for shape in shapes]
        return moved

    def side(self, side: str) -> str:
        return {"top": "bottom", "bottom": "top"}.get(side, side) if self.swap else side


MOTIONS = {
    "moved": Motion(1, 0, 0, 1, 31.7, -12.3),
    "turned": Motion(0, -1, 1, 0, 0, 0),
    "mirrored": Motion(-1, 0, 0, 1, 0, 0, swap=True),
}


def moved(board: Board, motion: Motion) -> Board:
    """The board after a motion."""
    layers = [
        replace(
            layer,
            side=motion.side(layer.side),
            objects=_objects(layer.objects, motion),
            islands=motion.shapes(layer.islands),
        )
        for layer in board.copper
    ]
    outline = board.outline and replace(
        board.outline,
        area=motion.shape(board.outline.area),
        openings=tuple((*motion.point(x, y), size) for x, y, size in board.outline.openings),
    )
    parts = board.parts and tuple(
        replace(
            part,
            side=motion.side(part.side),
            x=motion.point(part.x, part.y)[0],
            y=motion.point(part.x, part.y)[1],
            body=motion.shape(part.body),
            courtyard=motion.shape(part.courtyard),
        )
        for part in board.parts
    )
    return replace(
        board,
        copper=tuple(reversed(layers)) if motion.swap else tuple(layers),
        holes=tuple(
            replace(hole, path=tuple(motion.point(x, y) for x, y in hole.path))
            for hole in board.holes
        ),
        outline=outline,
        crossed_edge=tuple(motion.point(x, y) for x, y in board.crossed_edge),
        open_edge=tuple((*motion.point(x, y), size) for x, y, size in board.open_edge),
        graphics=tuple(
            replace(
                layer,
                side=motion.side(layer.side),
                draw=partial(_objects, layer.objects, motion),
            )
            for layer in board.graphics
        ),
        pins=tuple(
            replace(
                pin,
                x=motion.point(pin.x, pin.y)[0],
                y=motion.point(pin.x, pin.y)[1],
                side=pin.side and motion.side(pin.side),
            )
            for pin in board.pins
        ),
        parts=parts,
    )


def _objects(objects: DrawnObjects, motion: Motion) -> DrawnObjects:
    return replace(objects, shape=motion.shapes(objects.shape), spine=motion.shapes(objects.spine))


def reordered(board: Board) -> Board:
    """The board as if its objects, islands, holes, pins and parts had been drawn in reverse."""
    return replace(
        board,
        copper=tuple(_layer_reversed(layer) for layer in board.copper),
        holes=board.holes[::-1],
        pins=board.pins[::-1],
        parts=board.parts and board.parts[::-1],
        graphics=board.graphics[::-1],
    )


def _layer_reversed(layer: CopperLayer) -> CopperLayer:
    objects, last = layer.objects, len(layer.islands) - 1
    columns: Mapping[str, Any] = {
        name: getattr(objects, name)[::-1]
        for name in (
            "shape", "spine", "pen", "dark", "kind", "function", "net", "component", "pin", "line"
        )
    }  # fmt: skip
    of = layer.island_of[::-1]
    return replace(
        layer,
        objects=replace(objects, **columns),
        islands=layer.islands[::-1],
        net=layer.net[::-1],
        net_name=layer.net_name[::-1],
        island_of=np.where(of < 0, -1, last - of),
    )


def in_inches(name: str, text: str) -> str:
    """A file of the samples with its lengths in inches; others as they are."""
    if name.endswith(".gbr"):
        text = text.replace("%MOMM*%", "%MOIN*%")
        text = re.sub(r"(%ADD\d+[A-Z],)([0-9.X]+)", _aperture, text)
        lines = text.splitlines(keepends=True)
        return "".join(
            line if line.startswith("%") else re.sub(r"([XYIJ])(-?\d+)", _coordinate, line)
            for line in lines
        )
    if name.endswith(".drl"):
        text = text.replace("METRIC", "INCH")
        text = re.sub(r"^(T\d+C)([0-9.]+)", lambda m: f"{m[1]}{_inch(m[2])}", text, flags=re.M)
        return re.sub(r"([XY])(-?[0-9.]+)", lambda m: f"{m[1]}{_inch(m[2])}", text)
    return text


def _inch(number: str) -> str:
    return f"{float(number) / MM_PER_INCH:.8f}"


def _aperture(found: re.Match[str]) -> str:
    polygon = found[1].endswith("P,")  # of which the corners and the turn are no lengths
    sizes = enumerate(found[2].split("X"))
    return found[1] + "X".join(n if polygon and k in (1, 2) else _inch(n) for k, n in sizes)


def _coordinate(found: re.Match[str]) -> str:
    return f"{found[1]}{round(int(found[2]) / MM_PER_INCH)}"
