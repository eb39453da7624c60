"""Table of the gap census against the full closing, family by family.

python -m tests.oracles.report [layouts per family] [first seed] [bite in mm]
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Console
from rich.table import Table

from checker.measure import Reach, measure
from tests.layouts import FAMILIES, board_of, layout
from tests.oracles.agreement import Claim, score

if TYPE_CHECKING:
    from tests.oracles.agreement import Score

WIDTHS = np.linspace(0.05, 0.55, 10)
COLUMNS = (
    "family",
    "layouts",
    "verdicts",
    "wrong",
    "merge widths",
    "median um",
    "p99 um",
    "worst low um",
    "worst high um",
)


def scores(family: str, seeds: range, bite: float = 0.0) -> list[Score]:
    """Every layout's errors and verdicts; widest cuts up to 0.6 mm, for dots up to 0.9 mm."""
    reach = 0.9 if family == "dots" else 0.6
    found = []
    for seed in seeds:
        islands = layout(family, seed)
        gaps = measure(board_of(islands), Reach(cut=reach, copper=0.0, bites=(bite,))).gaps[0]
        claim = Claim(gaps.islands, gaps.widest_cut[bite])
        found.append(score(islands, claim, reach - 0.01, bite, WIDTHS))
    return found


def row(family: str, found: list[Score]) -> tuple[str, ...]:
    """One line of the table; errors are claimed minus true, so high is a joint missed."""
    errors = 1e3 * np.concatenate([one.errors for one in found])
    return (
        family,
        str(len(found)),
        str(sum(one.verdicts for one in found)),
        str(sum(one.wrong for one in found)),
        str(len(errors)),
        f"{np.median(np.abs(errors)):.2f}",
        f"{np.quantile(np.abs(errors), 0.99):.2f}",
        f"{min(0.0, errors.min()):.2f}",
        f"{max(0.0, errors.max()):.2f}",
    )


def main(layouts: int = 40, first: int = 0, bite: float = 0.0) -> None:
    """Print the table."""
    table = Table(*COLUMNS, title=f"widest cut against full closing, bite {bite} mm")
    for family in FAMILIES:
        table.add_row(*row(family, scores(family, range(first, first + layouts), bite)))
    Console(width=120).print(table)


if __name__ == "__main__":
    main(*(kind(text) for kind, text in zip((int, int, float), sys.argv[1:], strict=False)))
