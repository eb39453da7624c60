"""The coupon's files: copper, grooves and edge as Gerber X2, holes as XNC.

After the Gerber layer format: chapter 5 for attributes, 6.5 for the profile, 6.6 for drill files.
Copper of one layer can't say how deep to cut, so each depth of groove has a file of its own, with
the lines that the bit's middle follows; to readers of boards these are "other" drawings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.coupon.model import LABELS, VERNIER

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from checker.coupon.model import Copper, Coupon, Hole, Point, Stroke

SAME = "TF.SameCoordinates,Cutworthy coupon"  # in every file
_UNIT = 1_000_000  # units in a mm: digits of format 4.6
_POSITIONS = {"top": "Top", "bottom": "Bot"}
_OUTLINE_PEN = 0.1  # mm


def layers(coupon: Coupon) -> dict[str, str]:
    """Every file that is cut from, name -> text with plain line ends."""
    texts = {f"copper-{side}.gbr": _copper(coupon, side) for side in coupon.sides}
    for file in (*coupon.depths, VERNIER, LABELS):
        lines = [one for one in coupon.strokes if one.file == file]
        if lines:
            texts[f"{file}.gbr"] = _strokes(coupon, file, lines)
    if coupon.holes:
        texts["holes.drl"] = _drills(coupon)
    texts["profile.gbr"] = _profile(coupon)
    return texts


def depth_of(coupon: Coupon, file: str) -> float:
    """The depth at which a file of strokes is to be cut: its own, or that of the process."""
    bit = coupon.process.bit
    return coupon.depths.get(file, bit.depth.nominal if bit is not None else 0.0)


class _Layer:
    """A Gerber file: apertures are defined as they are met, attributes change only on need."""

    def __init__(self, *function: str) -> None:
        self._function = ",".join(function)
        self._apertures: dict[tuple[str, str], int] = {}
        self._body: list[str] = []
        self._selected = 0
        self._net = ""

    def text(self) -> str:
        from checker import __version__

        lines = [
            "G04 Coupon of cutworthy*",
            f"%TF.GenerationSoftware,cutworthy,cutworthy,{__version__}*%",
            f"%TF.FileFunction,{self._function}*%",
            "%TF.FilePolarity,Positive*%",
            f"%{SAME}*%",
            "%FSLAX46Y46*%",
            "%MOMM*%",
        ]
        for (shape, function), number in self._apertures.items():
            lines += [f"%TA.AperFunction,{function}*%", f"%ADD{number}{shape}*%"]
        if self._apertures:
            lines.append("%TD.AperFunction*%")
        return "\n".join([*lines, "G01*", "%LPD*%", *self._body, "M02*", ""])

    def net(self, name: str) -> None:
        if name != self._net:
            self._body.append(f"%TO.N,{name}*%")
            self._net = name

    def line(self, pen: float, function: str, points: Iterable[Point]) -> None:
        self._select(f"C,{pen:.6g}", function)
        self._path(points)

    def flash(self, shape: str, function: str, at: Point) -> None:
        self._select(shape, function)
        self._body.append(f"{_xy(at)}D03*")

    def region(self, function: str, points: Sequence[Point]) -> None:
        self._body += [f"%TA.AperFunction,{function}*%", "G36*"]
        self._path((*points, points[0]))
        self._body += ["G37*", "%TD.AperFunction*%"]

    def _path(self, points: Iterable[Point]) -> None:
        self._body += [f"{_xy(at)}D0{1 if rank else 2}*" for rank, at in enumerate(points)]

    def _select(self, shape: str, function: str) -> None:
        number = self._apertures.setdefault((shape, function), len(self._apertures) + 10)
        if number != self._selected:
            self._body.append(f"D{number}*")
            self._selected = number


def _xy(point: Point) -> str:
    return f"X{round(point[0] * _UNIT)}Y{round(point[1] * _UNIT)}"


def _copper(coupon: Coupon, side: str) -> str:
    number = coupon.sides.index(side) + 1
    layer = _Layer("Copper", f"L{number}", _POSITIONS[side])
    for one in coupon.copper:
        if one.side == side:
            layer.net(one.net)
            _draw(layer, one)
    return layer.text()


def _draw(layer: _Layer, one: Copper) -> None:
    if not one.width:
        layer.region(one.function, one.points)
    elif len(one.points) > 1:
        layer.line(one.width, one.function, one.points)
    else:
        size = f"{one.width:.6g}"
        shape = f"R,{size}X{size}" if one.square else f"C,{size}"
        layer.flash(shape, one.function, one.points[0])


def _strokes(coupon: Coupon, file: str, lines: Iterable[Stroke]) -> str:
    what = "Labels" if file == LABELS else "Vernier" if file == VERNIER else "Groove"
    depth = depth_of(coupon, file)
    layer = _Layer("Other", f"{what} {depth:.3f} mm deep" if depth else what)
    cut = coupon.process.cut
    for line in lines:
        layer.line(cut.nominal if cut is not None else 0.0, f"Other,{what}", line.points)
    return layer.text()


def _profile(coupon: Coupon) -> str:
    layer = _Layer("Profile", "NP")
    width, height = coupon.size
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0))
    layer.line(_OUTLINE_PEN, "Profile", corners)
    return layer.text()


def _drills(coupon: Coupon) -> str:
    from checker import __version__

    tools = sorted({(hole.diameter, hole.function) for hole in coupon.holes})
    lines = [
        "M48",
        f"; #@! TF.GenerationSoftware,cutworthy,cutworthy,{__version__}",
        f"; #@! TF.FileFunction,NonPlated,1,{len(coupon.sides)},NPTH",
        "; #@! TF.FilePolarity,Positive",
        f"; #@! {SAME}",
        "METRIC",
    ]
    for number, (diameter, function) in enumerate(tools, 1):
        lines += [f"; #@! TA.AperFunction,{function}", f"T{number:02}C{diameter:.3f}"]
    lines += ["; #@! TD", "%", "G05"]
    for number, tool in enumerate(tools, 1):
        lines.append(f"T{number:02}")
        lines += _hits(hole for hole in coupon.holes if (hole.diameter, hole.function) == tool)
    return "\n".join([*lines, "M30", ""])


def _hits(holes: Iterable[Hole]) -> Iterator[str]:
    return (f"X{hole.at[0]:.4f}Y{hole.at[1]:.4f}" for hole in holes)
