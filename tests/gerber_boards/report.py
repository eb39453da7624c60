"""Many random boards from text to verdict and to widths of cuts and necks, counted.

python -m tests.gerber_boards.report [batches of 25 boards] [first batch]
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings
from msgspec import Struct, field

from tests.gerber_boards.drawn import cuts, plans
from tests.gerber_boards.necks import NeckErrors
from tests.gerber_boards.verdicts import SeveralError, width_errors, wrong_verdicts

if TYPE_CHECKING:
    from tests.gerber_boards.plan import Plan

BATCH = 25
MEASURED = 10
"""Of so many boards one has its widest cuts bisected."""
NECKED = 5
"""Of so many boards one has its necks bisected."""


class Count(Struct):
    """What a run found."""

    judged: int = 0
    doubtful: int = 0
    wrong: list[str] = field(default_factory=list)
    errors: list[float] = field(default_factory=list)
    plans: set[int] = field(default_factory=set)
    necks: NeckErrors = field(default_factory=NeckErrors)

    def __str__(self) -> str:
        um = 1e3 * np.array([0.0, *self.errors])
        return (
            f"{len(self.plans)} boards, {self.judged} cuts judged, {len(self.wrong)} wrong, "
            f"{self.doubtful} with several right answers; {len(self.errors)} widest cuts, "
            f"off by {um.min():.2f} to {um.max():.2f} um; {self.necks}"
        )


def judge(batch: int, count: Count, boards: int = BATCH) -> None:
    """One batch of boards, always the same for its number."""

    @seed(batch)
    @settings(
        max_examples=boards,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(plans(), cuts)
    def run(plan: Plan, cut: float) -> None:
        count.plans.add(hash(plan))
        if len(count.plans) % NECKED == 0:
            count.necks.add(plan)
        try:
            wrong = wrong_verdicts(plan, cut)
        except SeveralError:
            count.doubtful += 1
            return
        count.judged += 1
        count.wrong += [f"batch {batch}: {text}: {plan}" for text in wrong]
        if count.judged % MEASURED == 0:
            count.errors += width_errors(plan).tolist()

    run()


def main(batches: int = 10, first: int = 0) -> None:
    """Print the count after each batch, and every wrong verdict and neck."""
    count = Count()
    for batch in range(first, first + batches):
        told = len(count.wrong), len(count.necks.wrong)
        judge(batch, count)
        wrong = *count.wrong[told[0] :], *count.necks.wrong[told[1] :]
        print(f"to batch {batch}: {count}", *wrong, sep="\n  ", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
