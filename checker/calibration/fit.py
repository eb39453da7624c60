"""Straight lines through readings that come from several places: estimates with their errors.

The model is ``y = X b + u[place] + e`` with independent normal ``u`` (scatter between places) and
``e`` (scatter of single readings). What X cannot explain is turned into independent contrasts,
whose variances are ``residual + d between`` with known d; the two variances are those that make
the contrasts likeliest (restricted maximum likelihood), b follows by generalised least squares, and
each interval takes Student's t with the degrees of freedom of its own variance (Satterthwaite, see
Kuznetsova et al., J. Statistical Software 82(13), 2017). With one place, or two, that is ordinary
least squares and the intervals are exact.

No estimate has fewer degrees of freedom than there are contrasts with d, or without;
Satterthwaite's formula goes below that where the scatter between places comes out as none.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

CONFIDENCE = 0.95
FEWEST_PLACES = 3
"""Fewer tell nothing of the scatter between places."""

_MOST_RATIO = 1e4  # of the variance between places to that of readings
_RATIOS = 60
_SAME = 1e-9
_LEAST = 1e-18  # variance of readings that agree perfectly, mm²


class Estimate(Struct, frozen=True):
    """A value, its standard error and the degrees of freedom of that."""

    value: float
    error: float
    freedom: float

    @property
    def reach(self) -> float:
        """Half the width of its interval."""
        return students_t(self.freedom) * self.error

    @property
    def interval(self) -> tuple[float, float]:
        """Where the truth lies with `CONFIDENCE`."""
        return self.value - self.reach, self.value + self.reach


@lru_cache(maxsize=256)
def students_t(freedom: float, beyond: float = 1 - CONFIDENCE) -> float:
    """What Student's t exceeds, to either side, with a probability."""
    from scipy.stats import t

    return float(t.isf(beyond / 2, freedom))


class Fit(Struct, frozen=True, eq=False):
    """A fitted model.

    Attributes:
        design: (n, p) X.
        places: (n,) number of the place of each reading; all 0 where places are not told apart.
        values: (n,) y.
        coefficients: (p,) b.
        covariance: (p, p) of b.
        residual: variance of single readings.
        between: variance between places, 0 where not told apart.
        information: (2, 2) on the two variances, or (1, 1) on the first.
        least: degrees of freedom that every estimate has.
    """

    design: Floats
    places: Ints
    values: Floats
    coefficients: Floats
    covariance: Floats
    residual: float
    between: float
    information: Floats
    least: int

    @property
    def freedom(self) -> int:
        """Readings beyond those that the line needs."""
        return len(self.values) - len(self.coefficients)

    @property
    def residuals(self) -> Floats:
        """(n,) what the line leaves."""
        left: Floats = self.values - self.design @ self.coefficients
        return left

    def estimate(self, row: Sequence[float], anew: bool = False) -> Estimate:
        """The value at a row of the design.

        Args:
            row: (p,) as in the design.
            anew: for a single reading to come, at a place drawn anew, not for the mean.
        """
        at = np.asarray(row, float)
        along = at @ self.covariance
        pulled = self._whitened(self.design @ along)
        slopes = [float(pulled @ pulled) + anew]
        if len(self.information) > 1:
            per_place = np.bincount(self.places, pulled)
            slopes.append(float(per_place @ per_place) + anew)
        variance = float(along @ at) + anew * (self.residual + self.between)
        slope = np.array(slopes)
        doubt = float(slope @ np.linalg.solve(self.information, slope))
        freedom = min(max(2 * variance**2 / doubt, self.least), self.freedom)
        return Estimate(float(at @ self.coefficients), math.sqrt(variance), freedom)

    def _whitened(self, column: Floats) -> Floats:
        """The inverse of the readings' covariance times a column."""
        return _inverse(column, self.places, self.between / self.residual) / self.residual


def fitted(design: Floats, values: Floats, places: Sequence[str]) -> Fit:
    """Fit a model to readings.

    Args:
        design: (n, p) X of full rank, n > p.
        values: (n,) y.
        places: (n,) where each was read.
    """
    numbers = np.unique(np.asarray(places), return_inverse=True)[1].astype(np.int64)
    n, p = design.shape
    free = np.linalg.qr(design, mode="complete")[0][:, p:]
    between, told = 0.0, numbers.max() + 1 >= FEWEST_PLACES
    if told:
        sums = np.zeros((numbers.max() + 1, n - p))
        np.add.at(sums, numbers, free)
        shares, turned = np.linalg.eigh(sums.T @ sums)
        told = shares.max() - shares.min() > _SAME  # else they are nothing but single readings
    if told:
        contrasts = (free @ turned).T @ values
        ratio = _likeliest(contrasts**2, np.maximum(shares, 0.0))
        weights = 1 + ratio * np.maximum(shares, 0.0)
        residual = max(float(np.mean(contrasts**2 / weights)), _LEAST)
        between, spreads = ratio * residual, residual * weights
        both = np.stack([np.ones_like(shares), shares]) / spreads
        information = both @ both.T / 2
        least = int(min(np.sum(shares > _SAME), np.sum(shares <= _SAME) or n))
    else:
        numbers, least = np.zeros(n, np.int64), n - p
        ratio, residual = 0.0, max(float(np.mean((free.T @ values) ** 2)), _LEAST)
        information = np.array([[(n - p) / (2 * residual**2)]])
    weighed = _inverse(design, numbers, ratio)
    normal = design.T @ weighed
    coefficients = np.asarray(np.linalg.solve(normal, weighed.T @ values), np.float64)
    covariance = np.asarray(residual * np.linalg.inv(normal), np.float64)
    return Fit(
        design, numbers, values, coefficients, covariance, residual, between, information, least
    )


def _inverse(columns: Floats, places: Ints, ratio: float) -> Floats:
    """(1 + ratio Z Z')^-1 times columns, Z the readings' places."""
    counts = np.bincount(places)
    sums = np.zeros((len(counts), *columns.shape[1:]))
    np.add.at(sums, places, columns)
    shape = (-1,) + (1,) * (columns.ndim - 1)
    inverse: Floats = columns - (sums * (ratio / (1 + ratio * counts)).reshape(shape))[places]
    return inverse


def _likeliest(squares: Floats, shares: Floats) -> float:
    """The ratio of the two variances that makes squared contrasts likeliest, none below 0."""

    def unlikely(ratio: Floats) -> Floats:
        weights = 1 + ratio[:, None] * shares
        least = np.finfo(float).tiny
        logs: Floats = np.log(weights).sum(1) + len(squares) * np.log(
            np.maximum((squares / weights).mean(1), least)
        )
        return logs

    ratios = np.concatenate([[0.0], np.geomspace(1e-3, _MOST_RATIO, _RATIOS)])
    for _ in range(4):
        best = int(np.argmin(unlikely(ratios)))
        low, high = ratios[max(best - 1, 0)], ratios[min(best + 1, len(ratios) - 1)]
        ratios = np.linspace(low, high, 21)
    return float(ratios[np.argmin(unlikely(ratios))])
