"""Whether drawn set-ups leave a board whole, and what spoils it. Lengths in mm."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Unchecked
from checker.isolation import parts_nets, widest_cut
from checker.measure.holes.pads import SIDES, outer
from checker.odds.bed import Bed, bed_of
from checker.odds.chance import DRAWS, SEED, offsets, setups, wanders
from checker.odds.mouths import between, mouths_of
from checker.odds.result import Odds
from checker.odds.rooms import WAYS, Rooms, rooms_of
from checker.odds.told import Feature, any_of, assumed, spoilers
from checker.process.units import COVERAGE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints
    from checker.measure import Facts, Necks
    from checker.odds.chance import Setups
    from checker.process.model import Process

    Bools = NDArray[np.bool_]

_FAR = 5.0  # standard deviations beyond which nothing is looked at: one draw in three million
_MOST = 200  # so many of a side's tightest gaps and thinnest necks are looked at
_MOST_RINGS = 2000  # and so many more of its thinnest rings: each hole wanders by itself
_BLOCK = 100  # rings looked at together
_PLACES = 9  # looked at along a neck
_OFF = 0.05  # mm; the path's distance from the copper is taken in such steps for the bed
_LOSS = 0.01  # mm; the loss by taper is taken in such steps, so that many profiles ask alike
_STRAIGHT = 1e-3  # mm; a gap that is passed by so little more than its distance is a slot


def odds_of(
    facts: Facts, process: Process, draws: int = DRAWS, seed: int = SEED
) -> Odds | Unchecked:
    """The odds that a board comes out whole.

    A draw is one set-up of the machine (`Setups`), with one field of the bed's residual for each
    side (`Bed`) and with holes that lie off. The maker makes a trial cut that day and leads the
    path for the width it shows, half of it off the copper. The board is whole where

    * that cut enters every gap of two nets, and parts them;
    * the foil is cut through all along the copper's edges;
    * no neck that joins two parts of a net is cut through, eaten from both of its edges;
    * no hole that is soldered breaks out of the copper round it.

    Args:
        facts: of the board, measured as far as `checker.engine.reach_for` says.
        process: as loaded from a profile.
        draws: how many set-ups.
        seed: of the random numbers; the same for all profiles of one comparison.
    """
    board = facts.board
    if process.bit is None:
        why = "has no bit whose width could vary" if process.method == "etching" else "cuts nothing"
        return Unchecked("odds", f"{process.method} {why}")
    if not any(len(layer.islands) for _, layer in outer(board)):
        return Unchecked("odds", "no outer side holds any copper")
    drawn, wave = setups(process, draws, seed), process.machine.wave
    if drawn.bed and wave is None:
        return Unchecked("odds", "the profile sets no machine.wave")
    features = features_of(Machines(facts, process, drawn, draws, seed))
    share = 1 - float(any_of(features, draws).mean())
    error = math.sqrt(share * (1 - share) / draws) or 3 / draws
    told = spoilers(facts, features), assumed(facts, process, drawn)
    return Odds(share, error, draws, *told)


def features_of(machines: Machines) -> list[Feature]:
    """What some draws spoil; only gaps where one of them stays closed in every draw."""
    features = list(machines.gaps())
    if not any(feature.spoils.all() for feature in features):
        features += [*machines.films(), *machines.necks(), *machines.rings()]
    return features


class Machines(Struct, frozen=True, eq=False):
    """Drawn set-ups before a board; each method yields the features that some of them spoil."""

    facts: Facts
    process: Process
    drawn: Setups
    draws: int
    seed: int

    @property
    def bed(self) -> Bed | None:
        """The fields of the bed's residual, of unit variance; None where there is none."""
        wave = self.process.machine.wave
        if not self.drawn.bed or wave is None:
            return None
        half = round(float(np.median(self.drawn.trial)) / 2 / _OFF) * _OFF
        return bed_of(self.facts.board, wave, self.draws, self.seed, half)

    def residual(self, side: int, places: Floats) -> Floats:
        """(draws, n) how much higher the surface lies at (n, 2) places than believed."""
        bed = self.bed
        if bed is None or not len(places):
            return np.zeros((self.draws, len(places)))
        return self.drawn.bed * bed.at(side, places)

    def foot(self, side: int, places: Floats) -> Floats:
        """(draws, n) width of the cut at the copper's foot at (n, 2) places."""
        every = np.arange(self.draws)[:, None]
        return self.drawn.foot(side, self.residual(side, places), every)

    def films(self) -> Iterator[Feature]:
        """Foil that stays uncut somewhere along the copper's edges, one feature a side."""
        if self.drawn.shape == "beam":
            return
        for side, layer in outer(self.facts.board):
            spare = self.drawn.depth[:, side] - self.drawn.foil
            if not len(layer.islands) or spare.min() >= _FAR * self.drawn.bed:
                continue
            bed = self.bed
            if bed is None:
                spoils, (x, y) = spare < 0, np.mean(layer.islands[0].exterior.coords, axis=0)[:2]
            else:
                spoils = spare + self.drawn.bed * bed.lowest[:, side] < 0
                where = np.bincount(bed.cell[spoils, side], minlength=1).argmax()
                x, y = bed.cells[side][where]
            if spoils.any():
                yield Feature("film", side, float(x), float(y), spoils)

    def gaps(self) -> Iterator[Feature]:
        """Gaps of two nets that the cut does not open.

        Where a gap stays closed in every draw though the cut came out as wide as it can, nobody
        asks where the bed lies high: it costs time and changes nothing.
        """
        bite = self.process.bite
        for side, layer in outer(self.facts.board):
            index = self.facts.board.copper.index(layer)
            gaps, trial = self.facts.gaps[index], self.drawn.trial[:, side, None]
            fits = widest_cut(gaps, bite) if len(gaps) else gaps.distance
            between = parts_nets(self.facts.board, index, gaps.islands)
            rows = np.flatnonzero(between & (gaps.distance + 2 * bite < trial.max()))
            rows = rows[np.lexsort((gaps.distance[rows], fits[rows]))[:_MOST]]
            if not len(rows):
                continue
            straight = fits[rows] < gaps.distance[rows] + 2 * bite + _STRAIGHT
            more = np.where(straight, 0.0, max(0.0, self._most_eaten()[side]))
            spoils = trial > np.maximum(fits[rows], gaps.distance[rows] + 2 * bite) + more
            if not spoils.all(axis=0).any():
                spoils = ~self._parted(index, side, rows, fits[rows])
            for k in np.flatnonzero(spoils.any(axis=0)).tolist():
                x, y = ((gaps.a[rows[k]] + gaps.b[rows[k]]) / 2).tolist()
                yield Feature("gap", side, x, y, spoils[:, k], int(rows[k]), float(fits[rows[k]]))

    def _parted(self, index: int, side: int, rows: Ints, fits: Floats) -> Bools:
        """(draws, n) whether the cut parts the islands of gaps, given the widest cut of each.

        The path enters where the copper stands as far apart as the trial cut is wide, less the
        bites. Where it stands nearer, the path stops on both sides of the narrow spot, and its ends
        meet if the cut at the copper's foot is wide enough: no wider than the widest cut for one
        so much narrower than the trial cut, which is measured for none and for the usual loss.
        """
        gaps, bite = self.facts.gaps[index], self.process.bite
        trial, distance = self.drawn.trial[:, side, None], gaps.distance[rows] + 2 * bite
        parted = trial <= np.where(
            fits - distance < _STRAIGHT, np.maximum(fits, distance), distance
        )
        mouth = np.flatnonzero(fits - distance >= _STRAIGHT)
        less = self._usual_loss(side)
        if not less or not len(mouth):
            return parted | (trial <= fits)
        row = rows[mouth]
        foot = self.foot(side, (gaps.a[row] + gaps.b[row]) / 2)
        loss, fits = (trial - foot) / less, fits[mouth]
        widest = np.full((2, len(row)), np.nan)
        # A mouth that spoils no draw but those that a slot spoils anyway need not be measured.
        slots: Bools = ~np.all(np.delete(parted, mouth, axis=1), axis=1)
        closed = ~parted[:, mouth] & (np.isinf(fits) | (foot > between(fits, widest, loss, less)))
        wanted = np.flatnonzero((closed & ~slots.reshape(-1, 1)).any(axis=0))
        widest[:, wanted] = mouths_of(self.facts, index, bite, less).widest(row[wanted])
        parted[:, mouth] |= foot <= between(fits, widest, loss, less)
        return parted

    def _usual_loss(self, side: int) -> float:
        """How much less is cut through than the trial cut shows, in hundredths of a millimetre."""
        every = np.arange(self.draws)
        foot = self.drawn.foot(side, np.zeros(self.draws), every)
        loss = float(np.median(self.drawn.trial[:, side] - foot))
        return max(_LOSS, round(loss / _LOSS) * _LOSS) if loss > _STRAIGHT else 0.0

    def necks(self) -> Iterator[Feature]:
        """Necks that carry and that are cut through where the cut comes out too wide."""
        steepest = self._most_eaten()
        for side, layer in outer(self.facts.board):
            necks = self.facts.necks[self.facts.board.copper.index(layer)]
            eaten = steepest[side]
            rows = _least(np.flatnonzero(necks.carries & (necks.width < eaten)), necks.width)
            if not len(rows):
                continue
            foot = self.foot(side, _along(layer, necks, rows)).reshape(self.draws, len(rows), -1)
            excess = foot.max(axis=2) - self.drawn.trial[:, side, None]
            spoils = necks.width[rows] - excess <= 0
            for k in np.flatnonzero(spoils.any(axis=0)).tolist():
                x, y = necks.at[rows[k]].tolist()
                width = float(necks.width[rows[k]])
                yield Feature("neck", side, x, y, spoils[:, k], int(rows[k]), width)

    def _most_eaten(self) -> list[float]:
        """How much wider than the trial cut, at most, the cut comes out, per side."""
        every, highest = np.arange(self.draws), np.full(self.draws, _FAR * self.drawn.bed)
        return [
            float((self.drawn.foot(side, highest, every) - self.drawn.trial[:, side]).max())
            for side in range(len(SIDES))
        ]

    def rings(self) -> Iterator[Feature]:
        """Rings that holes break out of; the side cut second is the one with the worse odds."""
        board, machine = self.facts.board, self.process.machine
        rooms = rooms_of(board, _drilled(board, self.process))
        registration = offsets("registration", machine.registration, self.draws, self.seed)
        flip = offsets("flip", machine.flip, self.draws, self.seed)
        second = list(rooms) if len(rooms) == len(SIDES) else [None]
        wander = self.process.drills.wander
        farthest = _FAR * float(np.hypot((registration + flip).std(), wander / COVERAGE))
        sides = [self._rings(side, rings, farthest) for side, rings in rooms.items()]
        orders = []
        for last in second:
            found: list[Feature] = []
            for one in sides:
                shift: Floats = registration + flip if one.side == last else registration
                found += one.broken(shift, wander, self.seed)
            orders.append(found)
        yield from max(orders, key=lambda found: int(any_of(found, self.draws).sum()))

    def _rings(self, side: int, rooms: Rooms, farthest: float) -> _Rings:
        """Those of a side that may break if holes lie off by ``farthest``, the thinnest first."""
        near = np.flatnonzero(rooms.ring < farthest + max(0.0, self._most_eaten()[side]) / 2)
        rows = near[np.argsort(rooms.ring[near], kind="stable")[:_MOST_RINGS]]
        residual = self.residual(side, rooms.at[rows])
        return _Rings(self.drawn, side, rooms, rows, residual)


class _Rings(Struct, frozen=True, eq=False):
    """Rings of a side, (n,) rows of its rooms, with (draws, n) the bed's residual there."""

    drawn: Setups
    side: int
    rooms: Rooms
    rows: Ints
    residual: Floats

    def broken(self, shift: Floats, wander: float, seed: int) -> Iterator[Feature]:
        """Those that some draws break, up to where every draw has broken one.

        Args:
            shift: (draws, 2) how far all holes lie off.
            wander: how far each of them lies off by itself, ±.
            seed: of the numbers for that.
        """
        draws = len(shift)
        spoilt = np.zeros(draws, bool)
        for first in range(0, len(self.rows), _BLOCK):
            block = slice(first, first + _BLOCK)
            rows = self.rows[block]
            off = shift.T[:, :, None] + wanders(self.rooms.hole[rows], wander, draws, seed)
            spoils = self._breaks(rows, off, self.residual[:, block])
            spoilt |= spoils.any(axis=1)
            for j in np.flatnonzero(spoils.any(axis=0)).tolist():
                (x, y), ring = self.rooms.at[rows[j]].tolist(), float(self.rooms.ring[rows[j]])
                hole = int(self.rooms.hole[rows[j]])
                yield Feature("ring", self.side, x, y, spoils[:, j], hole, ring)
            if spoilt.all():
                return

    def _breaks(self, rows: Ints, off: Floats, residual: Floats) -> Bools:
        """(draws, k) whether rings break, for holes that lie off by (2, draws, k)."""
        rings, rooms = self.rooms.ring[rows], self.rooms.room(rows)
        (x, y), away = off, np.hypot(*off)
        trial, none = self.drawn.trial[:, self.side], rings <= 0
        every = np.arange(len(trial))
        most = self.drawn.foot(self.side, residual.max(axis=1, initial=0.0), every) - trial
        draw, k = np.nonzero(away > rings - np.maximum(most, 0.0)[:, None] / 2)
        turn = np.arctan2(y[draw, k], x[draw, k]) / (2 * np.pi) % 1.0 * WAYS
        way = np.minimum(turn.astype(np.int64), WAYS - 1)
        room = rooms[k, way] + (turn - way) * (rooms[k, way + 1] - rooms[k, way])
        excess = self.drawn.foot(self.side, residual[draw, k], draw) - trial[draw]
        # What the cut takes off an edge that a hole nears askew counts for more along its way.
        askew = np.clip(room / np.where(none, 1.0, rings)[k], 1.0, 2.0)
        spoils = np.repeat(none[None], len(trial), axis=0)
        spoils[draw, k] |= away[draw, k] > room - excess / 2 * askew
        return spoils


def _least(rows: Ints, by: Floats) -> Ints:
    """The rows with the least values, at most `_MOST` of them."""
    return np.sort(rows[np.argsort(by[rows], kind="stable")[:_MOST]])


def _along(layer: CopperLayer, necks: Necks, rows: Ints) -> Floats:
    """(n * _PLACES, 2) places along necks, each taken to run straight on from its narrowest."""
    at, edges = shapely.points(necks.at[rows]), shapely.boundary(layer.islands[necks.island[rows]])
    across = np.diff(shapely.get_coordinates(shapely.shortest_line(at, edges)), axis=0)[::2]
    way = (
        np.column_stack([-across[:, 1], across[:, 0]])
        / np.maximum(np.hypot(*across.T), np.finfo(float).tiny)[:, None]
    )
    steps = np.linspace(-0.5, 0.5, _PLACES)[:, None] * necks.length[rows, None, None]
    places: Floats = necks.at[rows, None] + steps * way[:, None]
    return places.reshape(-1, 2)


def _drilled(board: Board, process: Process) -> tuple[float, ...]:
    """What is drilled for each hole."""
    return tuple(
        (None if hole.is_slot else process.drills.serving(hole.diameter)) or hole.diameter
        for hole in board.holes
    )
