"""How the files of a board fit each other: holes on pads, side on side, edge round copper.

A layer that is exported mirrored, moved or in another unit shows in its holes: as the files stand
few fall on a pad, and one single motion of them all brings nearly every hole onto a pad's middle.
Each motion of a short list is tried, with the displacement that most pairs of hole and pad agree
on. A misfit is told only on strong evidence; where there is little, it stays undecided, with a
guess where one motion would bring every hole onto a pad.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.board import Kind
from checker.measure.holes.paths import means_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from checker.board import Board, CopperLayer, Floats, Hole, Ints

ERROR = 0.05  # bound in mm on the error of a displacement

NEAR = 0.1  # mm from hole to pad's middle; inch 2.3, the coarsest number format, rounds by 0.013
SAME = 0.05  # mm by which pads of one hole may differ in size from side to side
FEWEST = 6  # holes that a judgement against the files rests on at least
FEWEST_TO_GUESS = 3  # holes that a guess rests on: two fall on any two pads so far apart
MORE_TO_GUESS = 2  # holes that it has to bring onto pads
CROWD = 2  # pads to a hole from which holes fall on some of them by chance, their sizes unknown
# Of the holes of open boards 82 to 100 % meet a pad where they should; at most 57 % where a file is
# mirrored, moved or turned, and 69 % where it is scaled.
MOST = 0.8  # share of the holes that a motion has to bring onto pads
SURE = 0.75  # share of the holes on pads from which no motion is looked for
FITS = 0.5  # share from which the files agree if no motion does better
SCREW = 2.1  # mm; wider holes are for screws from M2 up (clearance 2.2, ISO 273), often bare
SCALES = (25.4, 10.0, 1 / 25.4, 1 / 10)
ENCLOSED = 0.95  # share of the islands that an edge goes round, as the reader asks of it
WIDEST = 300.0  # mm; no common board is wider
ROOM = (0.95, 3.0)  # how much longer and wider than its copper an edge is that belongs to it

_EYE = ((1.0, 0.0), (0.0, 1.0))
# How a file may be turned over or round: what people call it, and the matrix.
_TURNS = {
    "": _EYE,
    "mirrored left to right": ((-1.0, 0.0), (0.0, 1.0)),
    "mirrored bottom to top": ((1.0, 0.0), (0.0, -1.0)),
    "turned by 180 degrees": ((-1.0, 0.0), (0.0, -1.0)),
    "turned by 90 degrees": ((0.0, -1.0), (1.0, 0.0)),
    "turned by 270 degrees": ((0.0, 1.0), (-1.0, 0.0)),
}
_SAMPLE = 40  # holes that vote on a displacement
_LOOKED_AT = 1000  # holes that a motion is judged by
_CELL = 0.25  # mm, grid on which votes are counted
_PEAKS = 4  # displacements with most votes that are looked into
_THROUGH = ("ComponentPad", "ViaPad")  # .AperFunction of pads with a hole, Gerber layer format


class Motion(Struct, frozen=True):
    """What brings one file onto another: turned, scaled, then moved by (dx, dy) in mm.

    Attributes:
        turn: in words, empty where it is neither mirrored nor turned.
        scale: factor on all lengths.
    """

    turn: str = ""
    scale: float = 1.0
    dx: float = 0.0
    dy: float = 0.0

    def moved(self, points: Floats) -> Floats:
        """Points (n, 2) after the motion."""
        found: Floats = self.scale * points @ np.array(_TURNS[self.turn]).T + (self.dx, self.dy)
        return found

    def like(self, other: Motion) -> bool:
        """Whether two motions are one within what is measured."""
        apart = max(abs(self.dx - other.dx), abs(self.dy - other.dy))
        return (self.turn, self.scale) == (other.turn, other.scale) and apart <= 2 * NEAR


class Match(Struct, frozen=True):
    """How what one file draws falls on what another one draws.

    Attributes:
        what, on: "holes", "edge" or a side; ``what`` would have to move.
        count: how many holes or pads were compared.
        share: share of them on a pad as the files stand.
        motion: what brings them onto pads; None where the files agree or nothing is decided.
        explained: share of them on a pad after the motion, or after the guess.
        undecided: why nothing is decided; empty where it is.
        guess: where nothing is decided, a motion that brings all of them onto pads; None else.
    """

    what: str
    on: str
    count: int
    share: float
    motion: Motion | None = None
    explained: float = 0.0
    undecided: str = ""
    guess: Motion | None = None

    def turned_round(self) -> Match:
        """The same with what is on the other side moved instead."""
        motion, guess = (move and _inverse(move) for move in (self.motion, self.guess))
        return replace(self, what=self.on, on=self.what, motion=motion, guess=guess)


class Fit(Struct, frozen=True, eq=False):
    """All that was compared.

    Attributes:
        matches: one for each pair of files that can be compared.
        bare: side -> share of the component and via holes that no pad is at, for each outer side;
            empty where there are no such holes.
        holes: number of these holes.
    """

    matches: tuple[Match, ...]
    bare: dict[str, float]
    holes: int


class _Spots(Struct, frozen=True, eq=False):
    """Middles (n, 2) and sizes (n, 2) in mm of holes or pads; pads at one place once."""

    at: Floats
    size: Floats

    def __len__(self) -> int:
        return len(self.at)

    def rows(self, rows: Ints) -> _Spots:
        return _Spots(self.at[rows], self.size[rows])


@lru_cache(maxsize=1)
def fit_of(board: Board) -> Fit:
    """How the files of a board fit each other, worked out once and only where asked."""
    layers = [layer for layer in board.copper if layer.side in ("top", "bottom")]
    holes = _drilled(board.holes)
    pads = {layer.side: _pads(layer) for layer in layers}
    on = {side: _on(holes, found) for side, found in pads.items()}
    matches = list(_holes_on_pads(layers, holes, pads, on))
    if len(layers) > 1 and all(match.undecided for match in matches):
        matches.append(_side_on_side(layers, pads))
    matches += _edge_round_copper(board, layers)
    bare = {side: 1 - float(hit.mean()) for side, hit in on.items() if len(hit)}
    return Fit(tuple(matches), bare, len(holes))


def _drilled(holes: Sequence[Hole]) -> _Spots:
    """Holes for parts and vias: no screw holes, and where enough others are, no unplated ones.

    Straight slots count where round holes are few: they often lie off the middle of their pad.
    """
    found = [hole for hole in holes if len(hole.path) < 3 and hole.function != "MechanicalDrill"]
    # Where all are wide, their unit may have been misread.
    found = [hole for hole in found if hole.diameter <= SCREW] or found
    for surer in (lambda hole: hole.plated is not False, lambda hole: not hole.is_slot):
        some = list(filter(surer, found))
        found = some if len(some) >= FEWEST else found
    at = means_of(found)
    return _Spots(at, np.zeros_like(at))


def _pads(layer: CopperLayer) -> _Spots:
    objects = layer.objects
    rows = np.flatnonzero((objects.kind == Kind.PAD) & objects.dark)
    boxes = shapely.bounds(objects.shape[rows])
    rows, boxes = rows[~np.isnan(boxes[:, 0])], boxes[~np.isnan(boxes[:, 0])]
    at = (boxes[:, :2] + boxes[:, 2:]) / 2
    _, first = np.unique(np.round(at, 2), axis=0, return_index=True)
    return _Spots(at[first], (boxes[:, 2:] - boxes[:, :2])[first])


def _on(holes: _Spots, pads: _Spots) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """(n,) whether each hole lies within the box of a pad; a hole may sit off its middle."""
    on = np.zeros(len(holes), bool)
    if len(holes) and len(pads):
        half = pads.size / 2
        boxes = shapely.box(*(pads.at - half).T, *(pads.at + half).T)
        on[shapely.STRtree(boxes).query(shapely.points(holes.at))[0]] = True
    return on


def _holes_on_pads(
    layers: Sequence[CopperLayer],
    holes: _Spots,
    pads: dict[str, _Spots],
    on: dict[str, np.ndarray[tuple[int], np.dtype[np.bool_]]],
) -> Iterator[Match]:
    """Of each side: whether the holes fall on its pads."""
    if not len(holes):
        return
    sure = [side for side, hit in on.items() if hit.mean() >= SURE]
    for layer in layers:
        side, hit = layer.side, on[layer.side]
        match = Match("holes", side, len(holes), float(hit.mean()))
        if side in sure:
            yield match
            continue
        others = [other for other in sure if other != side]
        # Where the other side fits, its pads are known to belong to holes: they look for their
        # like, so that a row of surface pads is not taken for the pads of a row of holes.
        points = _under(holes, pads[others[0]]) if others else holes
        match = _judged(match, points, pads[side], alike=bool(others))
        if (match.motion or match.guess) and others:  # holes and the other side agree
            match = match.turned_round()
        yield match


def _under(holes: _Spots, pads: _Spots) -> _Spots:
    """The pads at whose middle there is a hole."""
    pad, _ = shapely.STRtree(shapely.points(holes.at)).query(
        shapely.points(pads.at), predicate="dwithin", distance=NEAR
    )
    return pads.rows(np.unique(pad))


def _side_on_side(layers: Sequence[CopperLayer], pads: dict[str, _Spots]) -> Match:
    """Where no holes tell: the pads of one side against those of the other."""
    spots = {layer.side: _through(layer, pads[layer.side]) for layer in layers}
    (fixed, targets), (side, points) = spots.items()
    if len(points) > len(targets):
        points, targets = targets, points
        share = _share(points, targets, True)
        match = _judged(Match(fixed, side, len(points), share), points, targets, True)
        return match.turned_round() if match.motion or match.guess else match
    match = Match(side, fixed, len(points), _share(points, targets, True))
    return _judged(match, points, targets, True)


def _through(layer: CopperLayer, pads: _Spots) -> _Spots:
    """The pads said to have a hole, all pads where the file says nothing of it."""
    objects = layer.objects
    rows = [
        row
        for row in np.flatnonzero((objects.kind == Kind.PAD) & objects.dark).tolist()
        if objects.name(objects.function, row) in _THROUGH
    ]
    if not rows:
        return pads
    boxes = shapely.bounds(objects.shape[rows])
    return _Spots((boxes[:, :2] + boxes[:, 2:]) / 2, boxes[:, 2:] - boxes[:, :2])


def _judged(match: Match, points: _Spots, targets: _Spots, alike: bool) -> Match:
    """With the motion that brings the points onto the targets, or why there is none."""
    hits, compared = round(match.share * match.count), min(len(points), len(targets))
    guess = None
    if compared >= FEWEST_TO_GUESS:
        motion, explained = _best(points, targets, alike)
        more = explained * match.count - hits
        if motion is not None and explained > MOST and min(more, compared) >= FEWEST:
            return replace(match, motion=motion, explained=explained)
        plain = motion is not None and motion.scale == 1
        crowd = not alike and len(targets) > CROWD * len(points)
        if plain and not crowd and explained == 1 and more >= MORE_TO_GUESS:
            guess = motion
    believed = match.share >= FITS and not (guess and match.count < FEWEST)
    if believed or (alike and hits >= FEWEST):
        return match
    if not len(targets):
        why = f"the {match.on} has no pads"
    else:
        thing = "holes" if match.what == "holes" else "pads"
        why = f"{hits} of {match.count} {thing} meet a pad of the {match.on}"
        none = ", and no motion of them all does better"
        why += ", too few to judge by" if guess or compared < FEWEST else none
    return replace(match, undecided=why, guess=guess, explained=float(guess is not None))


def _best(points: _Spots, targets: _Spots, alike: bool) -> tuple[Motion | None, float]:
    """The motion that brings most points onto targets, and their share; simple ones first."""
    points = points.rows(_spread(points, _LOOKED_AT))
    tree = shapely.STRtree(shapely.points(targets.at))
    best, most = None, 0.0
    plain = [Motion(turn) for turn in _TURNS] + [Motion(scale=scale) for scale in SCALES]
    for start in plain:
        for motion in _displaced(start, points, targets):
            share, off = _landing(motion, points, targets, tree, alike)
            if share > most + 1e-9:
                exact = replace(motion, dx=motion.dx + off[0], dy=motion.dy + off[1])
                best, most = exact, share
    return best, most


def _spread(points: _Spots, count: int) -> Ints:
    """Rows of at most so many points, from all over the board."""
    order = np.lexsort(np.round(points.at, 3).T)
    return order[:: max(1, -(-len(order) // count))]


def _displaced(start: Motion, points: _Spots, targets: _Spots) -> Iterator[Motion]:
    """The motion with the displacements that most pairs of a point and a target agree on."""
    some = start.moved(points.at[_spread(points, _SAMPLE)])
    apart = (targets.at[:, None] - some[None]).reshape(-1, 2)
    for shift in (0.0, 0.5):  # two grids: what one parts, the other holds together
        cells = np.floor(apart / _CELL + shift).astype(np.int64)
        key = cells[:, 0] * (1 << 32) + cells[:, 1]
        _, place, votes = np.unique(key, return_inverse=True, return_counts=True)
        for peak in np.argsort(-votes, kind="stable")[:_PEAKS]:
            if 3 * votes[peak] < len(some):
                break
            dx, dy = np.median(apart[place == peak], axis=0)
            yield replace(start, dx=float(dx), dy=float(dy))


def _landing(
    motion: Motion, points: _Spots, targets: _Spots, tree: shapely.STRtree, alike: bool
) -> tuple[float, tuple[float, float]]:
    """Share of points that a motion brings onto a target each, and how far off they still are."""
    moved = motion.moved(points.at)
    point, target = tree.query(shapely.points(moved), predicate="dwithin", distance=NEAR)
    if alike:
        size = points.size[point] * motion.scale
        size = size[:, ::-1] if "90" in motion.turn or "270" in motion.turn else size
        same = (np.abs(size - targets.size[target]) <= SAME).all(1)
        point, target = point[same], target[same]
    if not len(point):
        return 0.0, (0.0, 0.0)
    # Points that fall together on one target count once: shrunk enough, all fall on any target.
    landed = min(len(np.unique(point)), len(np.unique(target)))
    dx, dy = np.median(targets.at[target] - moved[point], axis=0)
    return landed / len(points), (float(dx), float(dy))


def _share(points: _Spots, targets: _Spots, alike: bool) -> float:
    if not len(points) or not len(targets):
        return 0.0
    tree = shapely.STRtree(shapely.points(targets.at))
    return _landing(Motion(), points, targets, tree, alike)[0]


def _inverse(motion: Motion) -> Motion:
    """What moves the other file instead."""
    turn = {"turned by 90 degrees": "turned by 270 degrees"}
    turn |= {after: before for before, after in turn.items()}
    back = Motion(turn.get(motion.turn, motion.turn), 1 / motion.scale)
    ((dx, dy),) = -back.moved(np.array([[motion.dx, motion.dy]]))
    return replace(back, dx=float(dx), dy=float(dy))


def _edge_round_copper(board: Board, layers: Sequence[CopperLayer]) -> Iterator[Match]:
    """An edge away from the copper or of another size; whether it would go round it, scaled."""
    edge = board.outline or board.stray_outline
    islands = np.concatenate([np.empty(0, object), *(layer.islands for layer in layers)])
    stands = board.outline is not None
    if edge is None or not len(islands) or (stands and max(board.size) <= WIDEST):
        return
    box = np.reshape(edge.area.bounds, (2, 2))
    copper = np.reshape(shapely.total_bounds(islands), (2, 2))
    ratio = (box[1] - box[0]) / (copper[1] - copper[0])
    middles = shapely.get_coordinates(shapely.centroid(shapely.envelope(islands)))
    share = float(shapely.intersects_xy(edge.area, middles).mean())
    scales = SCALES if stands else (1.0, *SCALES)
    for scale in sorted(scales, key=lambda scale: float(np.abs(np.log(ratio * scale)).sum())):
        dx, dy = copper.mean(0) - scale * box.mean(0)
        inside = (middles - (dx, dy)) / scale
        round_it = float(shapely.intersects_xy(edge.area, inside).mean())
        fits = ((ratio * scale >= ROOM[0]) & (ratio * scale <= ROOM[1])).all()
        if fits and round_it >= ENCLOSED and (round_it > share or scale != 1):
            motion = Motion(scale=scale, dx=float(dx), dy=float(dy))
            yield Match("edge", "copper", len(islands), share, motion, round_it)
            return
