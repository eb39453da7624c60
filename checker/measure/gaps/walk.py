"""The widest cut of many gaps at once: walk the bisector of the two islands both ways.

At a gap with nearest points a, b the bisector's clearance is least. A cutter whose centre keeps
the clearance c stops left and right at the first points L(c), R(c) where the bisector's clearance
reaches c. With the radius r = c + bite it still clears the gap from both sides when
|L R| <= 2 r and the line L-R crosses a-b (otherwise the two discs meet behind an island). So

    widest cut = 2 (c* + bite),   c* = sup {c : |L(c) R(c)| <= 2 (c + bite)}.

A third island nearer than both ends the bisector in a vertex; beyond it the walk goes on between
that island and one of the two, in four variants, and the best counts.

The walk is exact while the cutter can stand on the bisector only. It says where it cannot vouch
for that: where the walk was cut short, changed islands, or passed the mouth of a pocket wide
enough for the cutter. Those places are settled by `checker.measure.gaps.window`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.measure.gaps.trail import (
    Stretch,
    Surroundings,
    Trail,
    boundary_skipped,
    first_step,
)
from checker.measure.plane import dot, larger, lesser

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.segments import Segments

    Bools = NDArray[np.bool_]

STRIDE = 0.15  # step of a walker in clearances
MOST_STEPS = 64  # recorded points of a walker; more than any plateau needs before it is decided
ON_BISECTOR = 1e-5  # mm by which the two distances may differ at a recorded point
JUST_ABOVE = 1e-6  # mm: more than the bisection leaves open, so that a step just passed counts
BISECTIONS = 20  # of a millimetre at most, to 1e-6
PLAIN = 1e-3  # mm by which a cut is wider than its gap, or may be, and is worth polishing
POLISH = 4  # most rounds of point insertion round the decisive points
FINE = 1e-5  # mm that a round may still change, and it was the last
TOGETHER = 500  # places polished together
POCKET = (
    3.0  # boundary, in clearances, of the least pocket that holds the cutter (pi, rounded down)
)
DEEP_BITE = 0.125  # share of the gap; a deeper bite opens ways round that the walk does not see
HOPS = 3  # vertices a walker may pass with a third island
PARTED = 1.02  # fronts so many diameters apart, and the walk is over

WALKING, BLOCKED, OPEN, TIRED, STRAYED, EARLY = range(6)  # why a walker stands


class Places(Struct, frozen=True, eq=False):
    """Gaps to walk; columns of length n: island numbers A and B, nearest points a and b."""

    A: Ints
    B: Ints
    a: Floats
    b: Floats

    @property
    def gap(self) -> Floats:
        """(n,) distance of a and b."""
        gap: Floats = np.hypot(*(self.b - self.a).T)
        return gap

    def take(self, rows: Ints) -> Places:
        """The given rows."""
        return Places(self.A[rows], self.B[rows], self.a[rows], self.b[rows])


class Walk:
    """Two walkers a place: rows 2k to the left and 2k + 1 to the right of place k."""

    def __init__(
        self,
        segments: Segments,
        places: Places,
        reach: Floats,
        half: Floats,
        most_bite: float,
        parted: float = PARTED,
        keep: Ints | None = None,
        steps: int = MOST_STEPS,
    ) -> None:
        self.places, self.reach, self.half = places, reach, half
        self.most_bite, self.parted, self.keep = most_bite, parted, keep
        count = len(places.A)
        self.gap = places.gap
        self.middle = (places.a + places.b) / 2
        self.near = Surroundings(segments, self.middle, half)
        self.place = np.repeat(np.arange(count), 2)
        self.trail = Trail.blank(2 * count, steps)
        self.state = np.full(2 * count, WALKING)
        self.decided = np.zeros(count, dtype=bool)

    def go(self) -> None:
        """Walk until every place is decided or its walkers stand."""
        place, trail, state = self.place, self.trail, self.state
        walkers, most_steps = trail.clearance.shape
        first, second = self.places.A[place], self.places.B[place]
        at = self.middle[place]
        across = ((self.places.b - self.places.a) / self.gap[:, None])[place]
        side = np.where(np.arange(walkers) % 2 == 0, 1.0, -1.0)
        heading = np.column_stack([-across[:, 1], across[:, 0]]) * side[:, None]
        steps, corrections, hops = (np.zeros(walkers, dtype=int) for _ in range(3))
        climbed, margin = np.zeros(walkers), np.zeros(walkers)
        foot: list[Floats] = [np.full((walkers, 2), np.nan), np.zeros((walkers, 2))]
        stuck = np.zeros(len(self.gap), dtype=bool)
        active, hops_too = np.arange(walkers), self.keep is not None
        for turn in range(6 * most_steps):
            if not len(active):
                break
            sight = self.near.look(
                place[active], at[active], first[active], second[active], named=hops_too
            )
            to_first, to_second, to_other = sight.distance.T
            gradient, square = sight.gradient()
            difference = to_first - to_second
            correct = (
                (np.abs(difference) > ON_BISECTOR)
                & (corrections[active] < 6)
                & (square > 1e-3)
                & np.isfinite(difference)
            )
            w = active[correct]
            most = 0.25 * to_first[correct]
            shift = np.clip(difference[correct] / square[correct], -most, most)
            at[w] -= shift[:, None] * gradient[correct]
            corrections[w] += 1

            seen = ~correct
            w, k = active[seen], steps[active[seen]]
            clearance = np.minimum(to_first, to_second)[seen]
            spare = to_other[seen] - clearance
            blocked = spare < -1e-6
            trail.at[w, k], trail.clearance[w, k] = at[w], clearance
            trail.first[w, k], trail.second[w, k] = first[w], second[w]
            trail.pocket[w, k] = boundary_skipped(sight, seen, foot, w, k)
            self._back_to_vertex(w[blocked & (k > 0)], k, blocked, spare, margin[w])
            margin[w] = spare
            clearance, here = trail.clearance[w, k], trail.at[w, k]
            steps[w] += 1
            corrections[w] = 0
            climbed[w] = np.maximum(climbed[w], clearance)
            off = larger(np.abs(here - self.middle[place[w]])) + 1.25 * clearance
            strayed = ~np.isfinite(clearance) | (off > self.half[place[w]])
            tired = (steps[w] >= most_steps - 1) | (square[seen] < 0.02)
            now = np.select(
                [strayed, blocked, 2 * climbed[w] >= self.reach[place[w]], tired],
                [STRAYED, BLOCKED, OPEN, TIRED],
                WALKING,
            )
            tangent = np.column_stack([-gradient[seen][:, 1], gradient[seen][:, 0]])
            tangent /= np.sqrt(np.maximum(square[seen], 1e-9))[:, None]
            tangent *= np.where(dot(tangent, heading[w]) < 0, -1.0, 1.0)[:, None]
            unit = sight.away[seen, 0] / np.maximum(to_first[seen], 1e-12)[:, None]
            trail.slope[w, k] = dot(tangent, unit)
            if self.keep is not None:
                z = np.flatnonzero((now == BLOCKED) & (hops[w] < HOPS))
                third = sight.third[seen][z]
                tangent[z], lost = self._hop(w[z], third, here[z], first, second)
                at[w[z]] = here[z]
                now[z] = np.where(lost, BLOCKED, WALKING)
                margin[w[z]], hops[w[z]] = 1.0, hops[w[z]] + 1
                foot[0][w[z]] = np.nan
            state[w], heading[w] = now, tangent
            moving = now == WALKING
            stride = STRIDE * np.maximum(clearance, 0.5 * self.gap[place[w]])
            at[w[moving]] = here[moving] + (tangent * stride[:, None])[moving]
            if turn % 2 and len(w) and moving.any():
                active = active[state[active] == WALKING]
                continue
            self._decide(climbed, steps, stuck)
            running = (state == WALKING) & ~(self.decided | stuck)[place]
            other = np.arange(walkers) ^ 1
            # The side that is ahead waits: the side behind decides.
            waits = (climbed > 1.2 * climbed[other]) & (state[other] == WALKING)
            active = np.flatnonzero(running & ~waits)

        self.trail = trail.cut(np.arange(walkers), max(2, int(steps.max())))

    def _back_to_vertex(
        self, w: Ints, k: Ints, blocked: Bools, spare: Floats, before: Floats
    ) -> None:
        """Cut the last step back to where the third island is as near as the two."""
        trail, which = self.trail, blocked & (k > 0)
        k, spare, before = k[which], spare[which], before[which]
        t = np.clip(before / np.maximum(before - spare, 1e-12), 0, 1)
        start, step = trail.at[w, k - 1], trail.at[w, k] - trail.at[w, k - 1]
        trail.at[w, k] = start + t[:, None] * step
        low = trail.clearance[w, k - 1]
        trail.clearance[w, k] = low + t * (trail.clearance[w, k] - low)

    def _hop(
        self, w: Ints, third: Ints, here: Floats, first: Ints, second: Ints
    ) -> tuple[Floats, Bools]:
        """Go on from a vertex between the third island and the one that is kept."""
        if self.keep is None or not len(w):
            return np.zeros((0, 2)), np.zeros(0, dtype=bool)
        keeps_first = self.keep[w] == 1
        left = np.where(keeps_first, second[w], first[w])
        first[w] = np.where(keeps_first, first[w], third)
        second[w] = np.where(keeps_first, third, second[w])
        sight = self.near.look(self.place[w], here, first[w], second[w])
        behind = self.near.look(self.place[w], here, left, left)
        gradient, square = sight.gradient()
        tangent = np.column_stack([-gradient[:, 1], gradient[:, 0]])
        tangent /= np.sqrt(np.maximum(square, 1e-18))[:, None]
        unit = sight.away / np.maximum(sight.distance[:, :2], 1e-12)[:, :, None]
        away = behind.away[:, 0] / np.maximum(behind.distance[:, :1], 1e-12) - unit.mean(1)
        tangent *= np.where(dot(tangent, away) < 0, -1.0, 1.0)[:, None]
        return tangent, square < 0.01

    def _decide(self, climbed: Floats, steps: Ints, stuck: Bools) -> None:
        """Stop places whose fronts are too far apart, or whose limiting side stands."""
        run = np.flatnonzero(~self.decided & ~stuck)
        if not len(run):
            return
        both = _sides(run)
        trail = self.trail.cut(both, max(1, int(steps.max())))
        level, apart = trail.farthest()
        decided = apart > 2 * self.parted * (level + self.most_bite)
        self.decided[run[decided]] = True
        stands = self.state[both].reshape(-1, 2) != WALKING
        left, right = climbed[both[::2]], climbed[both[1::2]]
        held = (stands[:, 0] & (left <= right)) | (stands[:, 1] & (right <= left))
        stuck[run[~decided & held]] = True

    def solve(self, bite: float) -> tuple[Floats, Ints, Bools, Floats]:
        """Widest cut, why the walk ended where it is not decided, doubt (n,); stand (n, 2, 2)."""
        trail, half_gap = self.trail, self.gap / 2
        climbed = trail.climbed
        top = climbed[:, -1].reshape(-1, 2)
        most = np.maximum(lesser(top), half_gap)
        clearance, failed = self._critical(trail, self.places, half_gap, most, bite)
        done = failed | self.decided
        doubt = np.full(len(done), bite, dtype=float) > DEEP_BITE * self.gap
        early, stand = np.zeros(len(done), dtype=bool), trail.stand(climbed, clearance)
        # Where the cut is as wide as the gap there is nothing to polish, but where a bay hides.
        bays = larger(trail.bays(np.repeat(clearance, 2) + JUST_ABOVE)[2].reshape(-1, 2))
        wider = (2 * clearance - self.gap > PLAIN) | (2 * (bays - clearance) > PLAIN)
        rows = np.flatnonzero(done & wider)
        if len(rows):
            clearance[rows], early[rows], stand[rows] = self._polish(rows, clearance[rows], bite)
        stands = self.state.reshape(-1, 2)
        side = np.argmin(np.where(stands != WALKING, top, np.inf), 1)
        why = np.where(done, WALKING, stands[np.arange(len(side)), side])
        why = np.select([early, ~done & (why == WALKING)], [EARLY, TIRED], why)
        width = np.where(why == OPEN, np.inf, 2 * (clearance + bite))
        level = np.repeat(clearance, 2) + JUST_ABOVE
        step = trail.front_step(climbed, level)
        passed = np.arange(climbed.shape[1])[None] <= step[:, None]
        passed_by = larger(np.where(passed, trail.pocket, 0).max(1).reshape(-1, 2))
        # A pocket that holds a disc of radius c has at least half its girth of boundary.
        doubt |= ((why != WALKING) & (why != OPEN)) | (passed_by > POCKET * clearance)
        return width, why, doubt, stand

    @staticmethod
    def _critical(
        trail: Trail, places: Places, low: Floats, high: Floats, bite: float
    ) -> tuple[Floats, Bools]:
        """Bisect for the clearance at which the two swept discs part; True where they do."""
        climbed, end = trail.climbed, trail.last
        failed = _apart(trail.front(climbed, np.repeat(high, 2)), places, high, bite)
        rows = np.flatnonzero(failed)
        both = _sides(rows)
        places, below, above = places.take(rows), low[rows], high[rows]
        # The steps of the fronts close in as the clearances do, and soon are the same.
        climbed, end = climbed[both], end[both]
        first = first_step(climbed, np.repeat(below, 2), end)
        last = first_step(climbed, np.repeat(above, 2), end)
        stretch: Stretch | None = None
        for _ in range(BISECTIONS):
            middle = (below + above) / 2
            each = np.repeat(middle, 2)
            if stretch is None:
                unsure, step = np.flatnonzero(first < last), first.copy()
                step[unsure] = first_step(climbed[unsure], each[unsure], end[unsure])
                stretch = trail.stretch(both, step)
            bad = _apart(stretch.at(each), places, middle, bite)
            above, below = np.where(bad, middle, above), np.where(bad, below, middle)
            if len(unsure):
                back = np.repeat(bad, 2)
                last, first = np.where(back, step, last), np.where(back, first, step)
                stretch = None
        critical = high.copy()
        critical[rows] = (below + above) / 2
        return critical, failed

    def _polish(self, rows: Ints, clearance: Floats, bite: float) -> tuple[Floats, Bools, Floats]:
        """Add points at the fronts and at the highest bay before them, and solve again.

        Also tells where, with the bays found, the walk proves to have ended too early, and where
        the cutter stands.
        """
        found, early = clearance.copy(), np.zeros(len(rows), dtype=bool)
        stand = np.zeros((len(rows), 2, 2))
        walked = larger(self.trail.walked.reshape(-1, 2))[rows]
        order = np.argsort(walked, kind="stable")  # walks as long as each other: no room in vain
        for first in range(0, len(rows), TOGETHER):
            live = order[first : first + TOGETHER]
            both = _sides(rows[live])
            trail = self.trail.cut(both, int(walked[live[-1]]) + 2 * POLISH)
            for turn in range(1, POLISH + 1):
                before = found[live]
                hidden = self._refine(trail, both, before)
                places, low = self.places.take(rows[live]), self.gap[rows[live]] / 2
                high = np.maximum(lesser(trail.climbed[:, -1].reshape(-1, 2)), low)
                clearance, failed = self._critical(trail, places, low, high, bite)
                found[live] = clearance
                settled = ~hidden & (np.abs(clearance - before) <= FINE) | (turn == POLISH)
                ready = np.flatnonzero(settled)
                done = trail.cut(_sides(ready), trail.clearance.shape[1])
                level, apart = done.farthest()
                early[live[ready]] = ~failed[ready] & (apart <= 2 * (level + bite))
                stand[live[ready]] = done.stand(done.climbed, clearance[ready])
                rest = np.flatnonzero(~settled)
                if not len(rest):
                    break
                live, both = live[rest], both[_sides(rest)]
                trail = trail.cut(_sides(rest), trail.clearance.shape[1])
        return found, early, stand

    def _refine(self, trail: Trail, both: Ints, clearance: Floats) -> Bools:
        """Add points to walks; True for places where a bay may hide that is above the clearance."""
        level = np.repeat(clearance, 2) + JUST_ABOVE
        j = trail.front_step(trail.climbed, level)
        peak, share, height = trail.bays(level)
        hides = (height > level + FINE).reshape(-1, 2)
        self._insert(trail, both, peak, share)
        front = np.where(peak == j, 0, j + (peak <= j))
        self._insert(trail, both, front, np.full(len(both), 0.5))
        return hides[:, 0] | hides[:, 1]

    def _insert(self, trail: Trail, both: Ints, before: Ints, share: Floats) -> None:
        """Insert a bisector point a share of the way to the given step of each walker, 0: none."""
        z = np.flatnonzero((before > 0) & (before < trail.walked))
        if not len(z):
            return
        j = before[z]
        first, second = trail.first[z, j], trail.second[z, j]
        step = trail.at[z, j] - trail.at[z, j - 1]
        point = trail.at[z, j - 1] + share[z, None] * step
        place = both[z] // 2
        sight = self.near.look(place, point, first, second)
        gradient, square = sight.gradient()
        difference, most = sight.distance[:, 0] - sight.distance[:, 1], 0.2 * sight.distance[:, 0]
        shift = np.where(
            square > 1e-3, np.clip(difference / np.maximum(square, 1e-3), -most, most), 0
        )
        point = point - shift[:, None] * gradient
        sight = self.near.look(place, point, first, second)
        index = np.arange(trail.clearance.shape[1])
        source = np.where(index[None] <= j[:, None], index[None], index[None] - 1)
        source[:, 0] = 0
        for column in trail.columns()[:-1]:  # for pockets the walk itself is asked
            shape = source.reshape(source.shape + (1,) * (column.ndim - 2))
            column[z] = np.take_along_axis(column[z], shape, 1)
        trail.at[z, j] = point
        trail.clearance[z, j] = np.minimum(sight.distance[:, :2].mean(1), sight.distance[:, 2])
        # At a kink the chord between the neighbours tells nothing: take the bisector's own tangent.
        tangent = sight.tangent(trail.at[z, j + 1] - trail.at[z, j - 1])
        trail.slope[z, j] = dot(tangent, sight.away[:, 0]) / sight.distance[:, 0]


def _sides(places: Ints) -> Ints:
    """(2n,) the rows of both walkers of some places."""
    both: Ints = (2 * places[:, None] + np.arange(2)).ravel()
    return both


def _apart(front: Floats, places: Places, clearance: Floats, bite: float) -> Bools:
    """(n,) whether discs of both walkers (2n, 2) part: too far apart, or not about the gap."""
    front, v = front.reshape(-1, 2, 2), places.b - places.a
    d, w = front[:, 1] - front[:, 0], places.a - front[:, 0]
    length = np.hypot(*d.T)
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = d[:, 0] * v[:, 1] - d[:, 1] * v[:, 0]
        s = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / turn
        t = (w[:, 0] * d[:, 1] - w[:, 1] * d[:, 0]) / turn
    crosses = (np.abs(s - 0.5) < 0.501) & (np.abs(t - 0.5) < 0.501)
    far = length > 2 * (clearance + bite)
    parted: Bools = far | ~(crosses | (length < 1e-3 * clearance))
    return parted
