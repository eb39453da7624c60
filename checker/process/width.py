"""How wide a tool cuts at a depth. Lengths in mm, angles in degrees.

At a depth z below the copper's surface a tool that turns true leaves a cut of width

* cone: tip + 2 z tan(angle / 2), until the cone ends at its diameter D
* flat: D
* ball: 2 sqrt(z (D - z)) for z < D / 2, and D below that
* beam: spot, whatever the depth

Runout is added in full: an axis off centre by e sweeps a slot wider by 2 e, which is the total
indicated runout. A beam's overcut is added in full. At the foot of the copper the depth is less by
the foil.
"""

from __future__ import annotations

import math

from checker.process.bit import Bit, Spread

_ROUNDING = 1e-9  # mm, sums of a few lengths


def swept_width(shape: str, size: float, angle: float, diameter: float, depth: float) -> float:
    """The cut of a tool that turns true, at the surface.

    Args:
        shape: "cone", "flat", "ball" or "beam".
        size: flat of a cone, spot of a beam, diameter of flat and ball.
        angle: included angle of a cone in degrees.
        diameter: where a cone ends.
        depth: below the surface; a tool above it (negative depth) cuts nothing.
    """
    if shape == "beam":
        return size
    if depth < 0:
        return 0.0
    if shape == "cone":
        return min(size + depth * _slope(angle), max(size, diameter))
    if shape == "ball" and depth < size / 2:
        return 2 * math.sqrt(depth * (size - depth))
    return size


def reached(bit: Bit, bed_error: float) -> Spread:
    """Depth below the real surface; the bed adds its error to the spread of setting the depth."""
    depth = bit.depth
    return Spread(depth.least - bed_error, depth.nominal, depth.most + bed_error)


def cut_width(bit: Bit, bed_error: float = 0.0) -> Spread:
    """Width at the surface with every term at its extreme; the measured width where there is one.

    Shallow, sharp and true gives the least; deep, worn and wobbling the most.
    """
    if bit.measured_width is not None:
        return bit.measured_width
    depth = reached(bit, bed_error)
    return Spread(
        _width(bit, depth.least, bit.tip_width.least, bit.runout.least, bit.overcut.least),
        nominal_width(bit, depth.nominal),
        _width(bit, depth.most, bit.tip_width.most, bit.runout.most, bit.overcut.most),
    )


def width_rss(bit: Bit, bed_error: float = 0.0) -> Spread:
    """Width at the surface with the effects of independent terms added as root sum of squares.

    Tip, setting of the depth, bed, runout and overcut each move the width alone, the rest nominal.
    Never wider than `cut_width`. A measured width comes with its own spread and is returned as is.
    """
    worst = cut_width(bit, bed_error)
    if bit.measured_width is not None:
        return worst
    tip, depth, runout, overcut = bit.tip_width, bit.depth, bit.runout, bit.overcut
    middle = (depth.nominal, tip.nominal, runout.nominal, overcut.nominal)

    def moved_by(terms: tuple[float, float, float, float], bed: float) -> float:
        alone = [
            _width(bit, *(term if i == j else mid for j, mid in enumerate(middle)))
            for i, term in enumerate(terms)
        ]
        alone.append(_width(bit, depth.nominal + bed, *middle[1:]))
        return math.hypot(*(width - worst.nominal for width in alone))

    down = moved_by((depth.least, tip.least, runout.least, overcut.least), -bed_error)
    up = moved_by((depth.most, tip.most, runout.most, overcut.most), bed_error)
    return Spread(
        max(worst.least, worst.nominal - down), worst.nominal, min(worst.most, worst.nominal + up)
    )


def foot_width(bit: Bit, foil: Spread, bed_error: float = 0.0) -> Spread:
    """Width at the foot of the copper, every term at its extreme; 0 where the foil is not cut.

    Least: shallow in thick foil. Most: deep in thin foil.
    """
    top, depth, tip = cut_width(bit, bed_error), reached(bit, bed_error), bit.tip_width

    def foot(top: float, depth: float, tip: float, foil: float) -> float:
        if bit.shape == "beam":
            return top
        if depth < foil:
            return 0.0
        at_surface = swept_width(bit.shape, tip, bit.angle, bit.diameter, depth)
        at_foot = swept_width(bit.shape, tip, bit.angle, bit.diameter, depth - foil)
        return max(0.0, top - at_surface + at_foot)

    return Spread(
        foot(top.least, depth.least, tip.least, foil.most),
        foot(top.nominal, depth.nominal, tip.nominal, foil.nominal),
        foot(top.most, depth.most, tip.most, foil.least),
    )


def width_at(bit: Bit, depth: float) -> float:
    """The nominal width at a depth; a measured width shifts the whole curve to go through it."""
    width = nominal_width(bit, depth)
    return max(0.0, width + _shift(bit)) if depth >= 0 else width


def depth_for_width(bit: Bit | None, width: float) -> float | None:
    """The least depth at which `width_at` gives the width, None where no depth does.

    None for a flat or a beam, whose width does not follow the depth, and for no bit at all.
    """
    if bit is None or bit.shape not in ("cone", "ball"):
        return None
    size, true = bit.tip_width.nominal, width - bit.runout.nominal - _shift(bit)
    narrowest = size if bit.shape == "cone" else 0.0
    widest = max(size, bit.diameter) if bit.shape == "cone" else size
    if not narrowest - _ROUNDING <= true <= widest + _ROUNDING:
        return None
    true = min(max(true, narrowest), widest)
    if bit.shape == "cone":
        return (true - size) / _slope(bit.angle)
    return _ball_depth(size, true)


def deepest(shape: str, size: float, angle: float, diameter: float, width: float) -> float:
    """The greatest depth at which `swept_width` is at most ``width``; same arguments.

    Inf where no depth is too deep, -inf where the tool is too wide at any.
    """
    if shape == "beam":
        raise ValueError("a beam is set to no depth")
    widest = max(size, diameter) if shape == "cone" else size
    if width >= widest:
        return math.inf
    if shape == "cone" and width >= size:
        return (width - size) / _slope(angle)
    if shape == "ball" and width >= 0:
        return _ball_depth(size, width)
    return -math.inf


def _ball_depth(size: float, width: float) -> float:
    # The smaller root of z (D - z) = (w / 2)^2, in the form that does not cancel for narrow cuts.
    return width * width / (2 * (size + math.sqrt(size * size - width * width)))


def _slope(angle: float) -> float:
    """How much wider a cone cuts per depth."""
    return 2 * math.tan(math.radians(angle) / 2)


def _width(bit: Bit, depth: float, tip: float, runout: float, overcut: float) -> float:
    width = swept_width(bit.shape, tip, bit.angle, bit.diameter, depth)
    if bit.shape == "beam":
        return width + overcut
    return width + runout if depth >= 0 else 0.0


def nominal_width(bit: Bit, depth: float) -> float:
    """The nominal width at a depth by geometry alone, whatever was measured."""
    return _width(bit, depth, bit.tip_width.nominal, bit.runout.nominal, bit.overcut.nominal)


def _shift(bit: Bit) -> float:
    """How much wider than its geometry the bit was measured to cut, at the depth of cut."""
    if bit.measured_width is None:
        return 0.0
    return bit.measured_width.nominal - nominal_width(bit, bit.depth.nominal)
