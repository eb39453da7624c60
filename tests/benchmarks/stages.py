"""Where the time of a check goes, stage by stage: processor time in one process.

A fact that several rules ask for counts for the first of them.

Run with: python -m tests.benchmarks.stages BOARD [PROFILE]
"""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.engine import check, reach_for
from checker.measure import Facts, measure
from checker.process import DEFAULT_PROFILE, load_profile
from checker.read import read_board
from checker.read.gerber import flatten
from checker.relief.told import mention_of
from checker.report import documents
from checker.report.judged import Judged

if TYPE_CHECKING:
    from checker.findings import Rule

TOLD = 9
"""So many rules are told by name, the dearest first; the rest is one line."""

FIRST = ("read", "of it flatten", "gaps", "necks")
LAST = ("relief", "report")


def stages(board: str, profile: str = DEFAULT_PROFILE) -> dict[str, float]:
    """Processor seconds per stage, in the order of work.

    ``flatten`` is part of ``read``, measured by flattening once more.
    """
    found: dict[str, float] = {}
    process = load_profile(profile)
    begin = time.process_time()

    def done(stage: str) -> None:
        nonlocal begin
        now = time.process_time()
        found[stage] = found.get(stage, 0.0) + now - begin
        begin = now

    read = read_board([board])
    done("read")
    for layer in read.copper:
        flatten(layer.objects)
    done("of it flatten")
    reach = reach_for(process)
    gaps = measure(read, replace(reach, copper=0.0))
    done("gaps")
    necks = measure(read, replace(reach, cut=0.0))
    done("necks")
    facts = Facts(read, reach, gaps.gaps, necks.necks)
    asked = ["labels"]

    def before(rule: Rule) -> None:
        done(asked[0])
        asked[0] = rule.name

    report = check(read, process, facts=facts, before=before)
    done(asked[0])
    mention_of(facts, process)
    done("relief")
    answer = Judged(report, None, ())
    documents.document(documents.Run((answer,), ("error",), 0, 0.0), "text", None)
    done("report")
    return found


def main(board: str, profile: str = DEFAULT_PROFILE) -> None:
    """Print the stages of one board, the dearest rules first."""
    found = stages(board, profile)
    ends = (*FIRST, *LAST)
    rules = sorted((item for item in found.items() if item[0] not in ends), key=lambda it: -it[1])
    rows = [*((name, found[name]) for name in FIRST), *rules[:TOLD]]
    rows.append(("other rules", sum(took for _, took in rules[TOLD:])))
    rows += [(name, found[name]) for name in LAST]
    rows.append(("all", sum(took for _, took in rows) - found["of it flatten"]))
    for name, took in rows:
        print(f"{name:24}{took:8.3f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
