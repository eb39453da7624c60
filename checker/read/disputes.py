"""Where a netlist and the layers' own attributes tell of different nets.

A net goes with that of its own name where any of its points lies on one. Exporters shorten and
rename nets, though, so else it goes with the net on which most of its points lie, and so the other
way round. A point whose two nets do not go with each other is disputed.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Note
from checker.read.netlist import NO_NET
from checker.read.nets import landing

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from checker.board import Floats, Pin
    from checker.read.nets import DrawnLayer, Nets


def disputed(
    layers: Sequence[DrawnLayer], nets: Nets, pins: Sequence[Pin], radii: Floats, netlist: str
) -> Iterator[Note]:
    """A note on the points of a netlist that lie on copper of another net, if there are any.

    Args:
        layers: from top to bottom.
        nets: of them, from their attributes.
        pins: points of the netlist.
        radii: (len(pins),) of the pins' holes in mm, 0 without one.
        netlist: name of the file they are from.
    """
    pairs = list(_pairs(layers, nets, pins, radii))
    by_list = _most((pins[i].net, net) for i, net in pairs)
    by_layers = _most((net, pins[i].net) for i, net in pairs)
    off: dict[int, str] = {}
    for i, net in pairs:
        if by_list[pins[i].net] != net or by_layers[net] != pins[i].net:
            off.setdefault(i, net)
    if off:
        first = min(off)
        pin = pins[first]
        yield Note(
            netlist,
            0,
            f"{len(off)} of {len({i for i, _ in pairs})} points lie on copper of another net, the "
            f"first {pin.called or 'one'} at {pin.x:.3f}, {pin.y:.3f}: {pin.net} in the netlist, "
            f"{off[first]} in the layer; the layer's word holds",
        )


def _pairs(
    layers: Sequence[DrawnLayer], nets: Nets, pins: Sequence[Pin], radii: Floats
) -> Iterator[tuple[int, str]]:
    """(pin, net name of copper it lies on), where both the netlist and the layer give a name."""
    shapes = shapely.points([pin.x for pin in pins], [pin.y for pin in pins])
    for layer, names in zip(layers, nets.name, strict=True):
        rows = np.flatnonzero([pin.side in (None, layer.side) for pin in pins])
        hit, island = landing(shapes[rows], radii[rows], layer.islands)
        for i, j in zip(rows[hit].tolist(), island.tolist(), strict=True):
            name = names[j]
            if name is not None and pins[i].net not in NO_NET:
                yield i, name


def _most(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """For each first of the pairs the second that it goes with, of several alike the least."""
    found: dict[str, str] = {}
    count = Counter(pairs)
    for one, other in sorted(count, key=lambda pair: (pair[0] != pair[1], -count[pair], pair)):
        found.setdefault(one, other)
    return found
