"""``compare``: which bit or method suits a board."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from checker.commands.shared import (
    board_of,
    processes_of,
    target_of,
    tell_verdicts,
    write_json,
    write_text,
)
from checker.console import CLEAN, FOUND, NOTHING, fail

if TYPE_CHECKING:
    import argparse


def run(args: argparse.Namespace) -> int:
    """Judge a board by several processes; 0 where one of them makes it."""
    from checker.comparison import compare
    from checker.findings import Verdict
    from checker.process import profile_names

    begin = time.perf_counter()
    target = target_of(args)
    with board_of(args) as (board, tell):
        names = args.profile or profile_names()
        processes = processes_of(names)
        tell(f"Comparing {len(processes)} processes for {board.name}")
        found = compare(board, processes, odds=args.odds)
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report.comparison_json import comparison_document

        write_json(comparison_document(found), target)
    else:
        from checker.report.comparison_text import comparison_text

        write_text(comparison_text(found, seconds, every=args.all), target)
    if target:
        tell_verdicts(found.rows[:1], target)
    best = found.rows[0].verdict
    if all(row.verdict is Verdict.NOT_CHECKED for row in found.rows):
        return fail(NOTHING)
    return CLEAN if best in (Verdict.MAKEABLE, Verdict.MARGINAL) else FOUND
