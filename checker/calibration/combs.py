"""What a few traces or gaps allow to say of all of their kind.

Of n equal traces k survived. The share p of all such traces that survive is then at least the p at
which k or more survivors of n have a probability of 5 % (Clopper and Pearson, Biometrika 26, 1934):
n of n give the n-th root of 0.05, five of five no more than 0.55.
"""

from __future__ import annotations

import math
from itertools import groupby, takewhile
from typing import TYPE_CHECKING

from checker.calibration.fit import CONFIDENCE
from checker.calibration.measurements import Comb
from checker.calibration.model import Row, Setting

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.process.model import Process

SURVIVES = 0.9
"""The share of all traces that must be known to survive before a width is called the narrowest."""

_KEY = "minimum_trace"
_EXACT = 1e-9


def bounds(good: int, of: int) -> tuple[float, float]:
    """Least and most share, each with 95 % by itself."""
    from scipy.stats import beta

    doubt = 1 - CONFIDENCE
    least = float(beta.ppf(doubt, good, of - good + 1)) if good else 0.0
    most = float(beta.isf(doubt, good + 1, of - good)) if good < of else 1.0
    return least, most


def at_least(share: float) -> str:
    """A lower bound in percent, rounded down."""
    return f"{math.floor(100 * share + _EXACT)} %"


def rows(combs: Iterable[Comb]) -> tuple[Row, ...]:
    """Every row with its bounds."""
    return tuple(Row(comb, *bounds(comb.good, comb.of)) for comb in combs)


def smallest(found: Sequence[Row], along: str) -> Row | None:
    """The narrowest of a direction from which all are as they should; None where none is."""
    own = sorted((row for row in found if row.comb.along == along), key=lambda row: row.comb.drawn)
    return _from_which_all(own)


def survivors(found: Sequence[Row]) -> tuple[Row, ...]:
    """The rows of all directions together, narrowest first."""
    combs = sorted((row.comb for row in found), key=lambda comb: comb.drawn)
    return rows(
        Comb("", drawn, sum(comb.good for comb in same), sum(comb.of for comb in same))
        for drawn, group in groupby(combs, lambda comb: comb.drawn)
        for same in [list(group)]
    )


def minimum_trace(found: Sequence[Row], process: Process) -> Setting | str:
    """A new value for the narrowest copper that survives, or why the old one stays.

    It falls to a width only where the bound vouches for `SURVIVES` of all such traces, at it and at
    every wider one. It rises where the comb shows that traces as wide as it do not survive.
    """
    together, old = survivors(found), process.minimum_trace
    if not together:
        return "no comb of traces was read"
    sure = list(takewhile(lambda row: row.least >= SURVIVES, reversed(together)))
    best = sure[-1] if sure else None
    if best is not None and (old is None or best.comb.drawn < old - _EXACT):
        return Setting(_KEY, f"{best.comb.drawn:g} mm", _survived(best))
    if old is not None:
        # What fails at a width fails at every narrower one: a wider row speaks for the old width.
        failing = [
            row for row in together if row.comb.drawn >= old - _EXACT and row.most < SURVIVES
        ]
        if failing:
            return _risen(together, failing[-1])
    full = _from_which_all(together)
    if full is None:
        return "the widest traces of the comb did not all survive"
    return f"{_survived(full)}; to go lower {at_least(SURVIVES)} would have to be"


def _risen(together: Sequence[Row], failing: Row) -> Setting | str:
    comb = failing.comb
    lost = f"only {comb.good} of {comb.of} traces of {comb.drawn:g} mm survived"
    best = _from_which_all(together)
    if best is None:
        return f"{lost}, and no wider ones of the comb all did: mill a comb of wider traces"
    return Setting(_KEY, f"{best.comb.drawn:g} mm", f"{lost}; {_survived(best)}")


def _from_which_all(found: Sequence[Row]) -> Row | None:
    """The narrowest row of an ascending few such that it and all wider ones are as they should."""
    full = list(takewhile(lambda row: row.comb.good == row.comb.of, reversed(found)))
    return full[-1] if full else None


def _survived(row: Row) -> str:
    comb = row.comb
    return (
        f"{comb.good} of {comb.of} traces of {comb.drawn:g} mm survived, which makes at least "
        f"{at_least(row.least)} of all such traces sure"
    )
