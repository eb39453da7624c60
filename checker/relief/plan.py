"""Which gaps relief opens, from whom, and which it leaves and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec.structs import replace

from checker.board import Kind
from checker.exact import tie
from checker.hands import Hands
from checker.isolation import Fate, fates, parts_nets
from checker.labels import UNKNOWN, labels_of
from checker.measure.gaps.census import ERROR
from checker.relief.gerber import refusal
from checker.relief.layer import Layer
from checker.relief.model import Channel, Options, Place, Relief, Taken
from checker.remedy import FINE_STEP, up

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board, CopperLayer
    from checker.isolation import Fates
    from checker.measure import Facts
    from checker.process import Process

NO_FILE = "nothing can be added to the file of this side"
_TOLD = 5e-4  # mm; less is not taken, but rounding
_WORD = {Kind.POUR: "pour", Kind.TRACE: "trace", Kind.PAD: "pad", UNKNOWN: "copper"}


def width_of(board: Board, process: Process) -> float:
    """The cut that has to pass at every gap: the widest of the process, and what can't be told."""
    assert process.cut is not None
    return up(process.cut.most + tie(board), FINE_STEP)


def left_alone(layer: CopperLayer, width: float) -> str:
    """Why relief for a cut of that width (mm) adds nothing to a layer's file; "" where it may."""
    if len(layer.island_of) and (layer.island_of < 0).all():
        return f"{layer.source} is a negative layer"
    if layer.end.relieved > width - FINE_STEP / 2:
        return f"{layer.source} has been relieved for a cut as wide"
    why = refusal(layer.end)
    return f"{layer.source}: {why}" if why else ""


def relief_of(
    board: Board,
    facts: Facts,
    process: Process,
    options: Options | None = None,
    both: bool = False,
) -> Relief:
    """What relief would open on a board, and what not and why; nothing is written.

    Strokes are planned for the coordinates of each layer's file, by whose steps they may lie off.

    Args:
        board: as read.
        facts: of this board, as far as the process asks.
        process: as loaded.
        options: what the maker allows.
        both: let a second process plan one of two layers, see `checker.hands`.
    """
    allowed = options or Options()
    if process.cut is None:
        return Relief(facts, process, allowed, 0.0)
    width = width_of(board, process)
    narrow = {index: (judged, rows) for index, judged, rows in too_narrow(facts, process, width)}
    open_ = [index for index in narrow if not left_alone(board.copper[index], width)]
    open_.sort(key=lambda index: -len(narrow[index][1]))

    def of_layer(index: int, _: None) -> tuple[list[Channel], list[Place]]:
        judged, rows = narrow[index]
        work = planned(facts, index, process, allowed, width, rows)
        work.clear_for_solder()
        words = _Words(work, judged)
        return list(words.channels()), list(map(words.place, rows))

    with Hands(of_layer, open_, both=both and len(open_) > 1) as hands:
        found = hands.ask(None, open_)
    places: list[Place] = []
    channels: list[Channel] = []
    for index, (judged, rows) in narrow.items():
        if index not in found:
            places += (_told(facts, index, row, judged, NO_FILE) for row in rows)
            continue
        more, told = found[index]
        first = len(channels)
        places += (
            one if one.channel is None else replace(one, channel=first + one.channel)
            for one in told
        )
        channels += more
    places.sort(key=lambda place: (place.fits, place.layer, place.row))
    return Relief(facts, process, allowed, width, tuple(channels), tuple(places))


def too_narrow(
    facts: Facts, process: Process, width: float
) -> Iterator[tuple[int, Fates, list[int]]]:
    """Layers with gaps between two nets that let no cut of that width pass: fates, and which."""
    for index, judged in enumerate(fates(facts, process)):
        foreign = parts_nets(facts.board, index, facts.gaps[index].islands)
        rows = np.flatnonzero(foreign & (judged.fits < width)).tolist()
        if rows:
            yield index, judged, rows


def planned(
    facts: Facts, index: int, process: Process, options: Options, width: float, rows: list[int]
) -> Layer:
    """Which gaps of one layer are opened for a cut of that width, and how; see `relief_of`."""
    board = facts.board
    extra = ERROR + 2 * board.tolerance + 2 * board.copper[index].end.step
    wanted = width, (process.pad_clearance or 0.0) + tie(board)
    narrow, wide = (up(one + extra, FINE_STEP) for one in wanted)
    work = Layer(facts, index, process, options, (narrow, wide), rows)
    work.run(width)
    return work


class _Words:
    """What became of the gaps of one layer, in words."""

    def __init__(self, work: Layer, judged: Fates) -> None:
        self.work, self.judged = work, judged
        self.numbers = {key: k for k, key in enumerate(work.strokes)}

    def channels(self) -> Iterator[Channel]:
        """The strokes, in the order of their numbers."""
        for stroke in self.work.strokes.values():
            points, attempt = shapely.get_coordinates(stroke.way), stroke.attempt
            yield Channel(self.work.index, points, stroke.pen, attempt.keeper, attempt.giver)

    def place(self, row: int) -> Place:
        """One gap."""
        work = self.work
        place = _told(work.facts, work.index, row, self.judged, work.why.get(row, ""))
        return self._opened(place) if row in work.of else self._left(place)

    def _opened(self, place: Place) -> Place:
        key = self.work.of[place.row]
        attempt = self.work.strokes[key].attempt
        needed = self.work.pen - place.distance
        taken = {attempt.keeper: attempt.share, attempt.giver: max(0.0, needed - attempt.share)}
        slack = self.work.slack(place.row, self.work.tiers[-1])
        gives = tuple(
            Taken(
                who, kind, taken[island], max(0.0, most - taken[island]) if most < needed else None
            )
            for (island, who, kind), most in zip(self._sides(place.row), slack, strict=True)
            if taken[island] > _TOLD
        )
        return replace(place, channel=self.numbers[key], taken=gives, lacking="")

    def _left(self, place: Place) -> Place:
        work = self.work
        needed, sides = work.pen - place.distance, self._sides(place.row)
        slack = work.slack(place.row, work.tiers[-1])
        missing = max(0.0, needed - sum(slack))
        if missing > _TOLD:
            none = [who for (_, who, _), one in zip(sides, slack, strict=True) if one < needed / 2]
            return replace(place, missing=missing, lacking=" and ".join(none))
        if not place.lacking and max(slack) > work.options.most_taken:
            return replace(place, lacking="more would have to be taken than is allowed")
        return replace(place, lacking=place.lacking or "other copper beside it has none to spare")

    def _sides(self, row: int) -> list[tuple[int, str, str]]:
        labels, gaps, index = labels_of(self.work.facts.board), self.work.gaps, self.work.index
        things = int(gaps.object_a[row]), int(gaps.object_b[row])
        return [
            (island, labels.standing(index, thing, island), _WORD[labels.kind(index, thing)])
            for island, thing in zip(gaps.islands[row].tolist(), things, strict=True)
        ]


def _told(facts: Facts, index: int, row: int, judged: Fates, why: str) -> Place:
    """A gap that stays as it is."""
    labels, gaps, layer = labels_of(facts.board), facts.gaps[index], facts.board.copper[index]
    islands = gaps.islands[row].tolist()
    things = int(gaps.object_a[row]), int(gaps.object_b[row])
    ends = sorted(zip(things, islands, strict=True), key=lambda one: labels.rank(index, *one))
    words = [labels.standing(index, *end) for end in ends]
    kinds = sorted(_WORD[labels.kind(index, thing)] for thing, _ in ends)
    x, y = ((gaps.a[row] + gaps.b[row]) / 2).tolist()
    return Place(
        index,
        row,
        layer.side,
        x,
        y,
        float(gaps.distance[row]),
        float(judged.fits[row]),
        " and ".join(words),
        tuple(labels.net(index, island) for _, island in ends),
        bool(judged.fate[row] > Fate.TIGHT),
        f"{kinds[0]} and {kinds[1]}",
        lacking=why,
    )
