"""A process with its bit set otherwise; everything that follows from the bit follows."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from msgspec.structs import replace

from checker.process import width
from checker.process.bit import Spread

if TYPE_CHECKING:
    from checker.process.bit import Bit
    from checker.process.model import Process

_NANOMETRE = 6  # decimals of resolved values
_SIZE = {"flat": "diameter", "beam": "spot"}
"""Key of the size that sets the width of a bit, where the depth doesn't."""


def at_depth(process: Process, depth: float) -> Process:
    """The same process with the bit set to another depth.

    The spread of setting it stays what it is. A measured width moves along the curve of the bit's
    geometry, its spread with it.

    Args:
        process: one whose bit is set to a depth.
        depth: nominal depth in mm below where the machine believes the copper's surface.

    Raises:
        ValueError: the process has no bit that is set to a depth.
    """
    if process.bit is None or process.bit.shape == "beam":
        raise ValueError(f"{process.method} sets no depth")
    return _with(process, bit_at(process.bit, depth))


def at_width(process: Process, wide: float) -> Process:
    """The same process with a tool, a beam or an etchant that parts copper at another width.

    A flat bit is another one by as much as the cut differs, a beam another spot; spreads stay what
    they are.

    Args:
        process: one that isolates, but not with a bit that is set wider by its depth.
        wide: nominal width of the cut in mm, for etching the minimum gap.

    Raises:
        ValueError: nothing is cut, or the width follows from the depth.
    """
    bit, cut = process.bit, process.cut
    if cut is None or (bit is not None and bit.shape not in _SIZE):
        raise ValueError(f"{process.method} is not set to a width")
    by = wide - cut.nominal
    if bit is None:
        cut = _moved(cut, by)
        keys = {"minimum_gap": _spelled(cut)}
        return replace(process, cut=cut, cut_rss=cut, resolved={**process.resolved, **keys})
    measured = bit.measured_width
    other = replace(
        bit,
        tip_width=_moved(bit.tip_width, by),
        diameter=bit.diameter + by,
        measured_width=measured and _moved(measured, by),
    )
    return _with(process, other)


def bit_at(bit: Bit, depth: float) -> Bit:
    """The bit at another nominal depth in mm, spreads and all."""
    by = depth - bit.depth.nominal
    measured = bit.measured_width
    if measured is not None:
        measured = _moved(measured, width.width_at(bit, depth) - measured.nominal)
    return replace(bit, depth=_moved(bit.depth, by), measured_width=measured)


def _moved(spread: Spread, by: float) -> Spread:
    return Spread(spread.least + by, spread.nominal + by, spread.most + by)


def _with(process: Process, bit: Bit) -> Process:
    document = dict(process.resolved)
    keys = dict(cast("dict[str, object]", document.get("bit", {})))
    if bit.shape != "beam":
        keys["depth"] = _spelled(bit.depth)
    if bit.shape in _SIZE:
        keys[_SIZE[bit.shape]] = _spelled(bit.tip_width)
    if bit.measured_width is not None:
        keys["measured_width"] = _spelled(bit.measured_width)
    return replace(
        process,
        bit=bit,
        cut=width.cut_width(bit, process.bed_error),
        cut_rss=width.width_rss(bit, process.bed_error),
        foot=width.foot_width(bit, process.foil, process.bed_error),
        resolved=document | {"bit": keys},
    )


def _spelled(spread: Spread) -> dict[str, float]:
    return {
        "least": round(spread.least, _NANOMETRE),
        "nominal": round(spread.nominal, _NANOMETRE),
        "most": round(spread.most, _NANOMETRE),
    }
