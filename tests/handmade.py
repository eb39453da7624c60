"""Boards, facts and processes made by hand: a few numbers in, everything else filled up.

Every gap stands between two islands of its own, every neck on an island of its own, so that a test
says only what it is about.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.board import Board, CopperLayer, DrawnObjects, Kind, Pin
from checker.findings import Observation, Rule
from checker.measure import Facts, Gaps, Necks, Reach
from checker.process.bit import Bit, Spread
from checker.process.model import Process
from checker.process.width import cut_width
from checker.registry import load_rules

REACH = 10.0  # beyond anything a test asks for
RULES = load_rules()


class Copper(Struct, frozen=True):
    """What stands on one side of a gap: kind (None: nobody knows), net, component, pin."""

    kind: Kind | None = Kind.PAD
    net: str | None = None
    component: str | None = None
    pin: str | None = None


class Gap(Struct, frozen=True):
    """A gap: how far apart, the widest cut that passes, and what stands there."""

    fits: float
    distance: float | None = None
    bitten: Mapping[float, float] | None = None
    a: Copper = Copper()
    b: Copper = Copper()
    at: tuple[float, float] = (0.0, 0.0)
    side: str = "top"


class Neck(Struct, frozen=True):
    """A neck of copper that joins two wider parts."""

    width: float
    length: float = 5.0
    kind: Kind | None = Kind.TRACE
    net: str | None = None
    carries: bool = True
    at: tuple[float, float] = (0.0, 0.0)
    side: str = "top"


class _Names:
    def __init__(self) -> None:
        self.texts: list[str] = []

    def index(self, text: str | None) -> int:
        if text is None:
            return -1
        if text not in self.texts:
            self.texts.append(text)
        return self.texts.index(text)


class _Nets:
    """Numbers by name over all layers; copper without a name is a net of its own."""

    def __init__(self) -> None:
        self.known: dict[str, int] = {}
        self.count = 0

    def number(self, name: str | None) -> int:
        if name in self.known:
            return self.known[name]
        number, self.count = self.count, self.count + 1
        if name is not None:
            self.known[name] = number
        return number


def square(x: float, y: float, size: float = 0.5) -> shapely.Polygon:
    """A square island about a point."""
    return shapely.box(x - size / 2, y - size / 2, x + size / 2, y + size / 2)


def layer(
    side: str, copper: Sequence[tuple[Copper, shapely.Polygon]], nets: _Nets | None = None
) -> CopperLayer:
    """A layer with one island and one object per piece of copper."""
    nets, names, n = nets or _Nets(), _Names(), len(copper)
    shapes = np.empty(n, dtype=object)
    shapes[:] = [shape for _, shape in copper]
    spines = np.empty(n, dtype=object)
    spines[:] = [shape.centroid for shape in shapes]

    def column(attribute: str) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        return np.array([names.index(getattr(c, attribute)) for c, _ in copper], dtype=np.int64)

    columns = {what: column(what) for what in ("net", "component", "pin")}
    objects = DrawnObjects(
        shape=shapes,
        spine=spines,
        pen=np.zeros(n),
        dark=np.ones(n, dtype=bool),
        kind=np.array([Kind.PAD if c.kind is None else c.kind for c, _ in copper], dtype=np.int8),
        function=np.full(n, -1),
        line=np.arange(1, n + 1),
        names=tuple(names.texts),
        **columns,
    )
    return CopperLayer(
        side=side,
        source=f"{side}.gbr",
        objects=objects,
        islands=shapes,
        net=np.array([nets.number(c.net) for c, _ in copper], dtype=np.int64),
        net_name=tuple(c.net for c, _ in copper),
        island_of=np.arange(n),
    )


def facts(
    gaps: Sequence[Gap] = (),
    necks: Sequence[Neck] = (),
    sides: Sequence[str] = ("top", "bottom"),
    bites: Sequence[float] = (0.0,),
    pins: Sequence[Pin] = (),
    tolerance: float = 0.001,
) -> Facts:
    """A board with these gaps and necks, and the facts about it."""
    nets = _Nets()
    layers, all_gaps, all_necks = [], [], []
    for side in sides:
        own_gaps = [gap for gap in gaps if gap.side == side]
        own_necks = [neck for neck in necks if neck.side == side]
        copper = [
            piece
            for gap in own_gaps
            for piece in (
                (gap.a, square(gap.at[0] - 0.25 - _distance(gap) / 2, gap.at[1])),
                (gap.b, square(gap.at[0] + 0.25 + _distance(gap) / 2, gap.at[1])),
            )
        ]
        copper += [(Copper(neck.kind, neck.net), square(*neck.at)) for neck in own_necks]
        layers.append(layer(side, copper, nets))
        all_gaps.append(_gaps(own_gaps, bites))
        all_necks.append(_necks(own_necks, 2 * len(own_gaps)))
    board = Board("handmade", (), tuple(layers), pins=tuple(pins), tolerance=tolerance)
    reach = Reach(REACH, REACH, tuple(bites))
    return Facts(board, reach, tuple(all_gaps), tuple(all_necks))


def _distance(gap: Gap) -> float:
    return gap.fits if gap.distance is None else gap.distance


def _row(known: bool, row: int) -> int:
    return row if known else -1


def _gaps(gaps: Sequence[Gap], bites: Sequence[float]) -> Gaps:
    n = len(gaps)
    at = np.array([gap.at for gap in gaps], dtype=float).reshape(n, 2)
    half = np.array([[_distance(gap) / 2, 0.0] for gap in gaps], dtype=float).reshape(n, 2)
    return Gaps(
        islands=np.arange(2 * n).reshape(n, 2),
        a=at - half,
        b=at + half,
        distance=np.array([_distance(gap) for gap in gaps], dtype=float),
        widest_cut={
            bite: np.array(
                [(gap.bitten or {}).get(bite, gap.fits + 2 * bite) for gap in gaps], dtype=float
            )
            for bite in bites
        },
        object_a=np.array(
            [_row(gap.a.kind is not None, 2 * i) for i, gap in enumerate(gaps)], dtype=np.int64
        ),
        object_b=np.array(
            [_row(gap.b.kind is not None, 2 * i + 1) for i, gap in enumerate(gaps)], dtype=np.int64
        ),
        part=np.stack([at, at], axis=1),
        part_of=np.arange(n),
        reach=REACH,
        error=0.001,
    )


def _necks(necks: Sequence[Neck], first: int) -> Necks:
    n = len(necks)
    return Necks(
        island=first + np.arange(n),
        at=np.array([neck.at for neck in necks], dtype=float).reshape(n, 2),
        width=np.array([neck.width for neck in necks], dtype=float),
        length=np.array([neck.length for neck in necks], dtype=float),
        carries=np.array([neck.carries for neck in necks], dtype=bool),
        object=np.array(
            [_row(neck.kind is not None, first + i) for i, neck in enumerate(necks)],
            dtype=np.int64,
        ),
        reach=REACH,
        error=0.002,
    )


def exactly(length: float) -> Spread:
    """A length without spread."""
    return Spread(length, length, length)


def spread(nominal: float, more: float) -> Spread:
    """A length that varies by so much either way."""
    return Spread(nominal - more, nominal, nominal + more)


FOIL = spread(0.035, 0.0035)
PLAIN = Process(
    name="handmade",
    source="handmade.yaml",
    method="milling",
    title="a process made by hand",
    bit=None,
    cut=exactly(0.2),
    measured=False,
    foil=FOIL,
    bed_error=0.0,
    minimum_trace=0.2,
    short_neck=1.0,
    pad_clearance=None,
    layer_count=2,
    bite=0.0,
)


def cutting(
    nominal: float, most: float | None = None, bite: float = 0.0, method: str = "milling"
) -> Process:
    """A process known by the width of its cut alone."""
    cut = Spread(nominal, nominal, nominal if most is None else most)
    return replace(PLAIN, cut=cut, bite=bite, method=method)


def cone(
    tip: Spread, angle: float, depth: Spread, bed_error: float = 0.0, foil: Spread = FOIL
) -> Process:
    """A process with a cone that turns true."""
    bit = Bit("cone", tip, angle, depth, 3.175, exactly(0.0), exactly(0.0))
    return with_bit(bit, bed_error, foil)


def flat(diameter: float, depth: Spread, bed_error: float = 0.0, foil: Spread = FOIL) -> Process:
    """A process with an end mill that turns true."""
    none = exactly(0.0)
    bit = Bit("flat", exactly(diameter), 0.0, depth, diameter, none, none)
    return with_bit(bit, bed_error, foil)


def with_bit(bit: Bit, bed_error: float = 0.0, foil: Spread = FOIL) -> Process:
    """A process with this bit; the cut follows from it."""
    return replace(PLAIN, bit=bit, cut=cut_width(bit, bed_error), bed_error=bed_error, foil=foil)


def seen(name: str, facts: Facts, process: Process) -> list[Observation]:
    """The observations of one rule."""
    return [one for one in RULES[name].check(facts, process) if isinstance(one, Observation)]


def rule(name: str) -> Rule:
    """A built-in rule by name."""
    return RULES[name]


def on_board(facts: Facts, board: Board) -> Facts:
    """The same facts, of a board that differs in what facts do not look at."""
    return Facts(board, facts.reach, facts.gaps, facts.necks)
