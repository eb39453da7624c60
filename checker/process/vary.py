"""A process with its bit set otherwise; everything that follows from the bit follows."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

from checker.process import width
from checker.process.model import Spread

if TYPE_CHECKING:
    from checker.process.model import Bit, Process

_NANOMETRE = 6  # decimals of resolved values


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
    keys["depth"] = _spelled(bit.depth)
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
