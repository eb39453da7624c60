"""``measure``: what a board measures, whatever the process."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from checker.commands.shared import board_of, target_of, write_json, write_text
from checker.console import CLEAN

if TYPE_CHECKING:
    import argparse


def run(args: argparse.Namespace) -> int:
    """Measure gaps, narrow copper, holes and edges."""
    from checker.measure import Reach, measure

    begin = time.perf_counter()
    target = target_of(args)
    with board_of(args) as (board, tell):
        tell(f"Measuring {board.name}")
        facts = measure(board, Reach(cut=args.reach, copper=args.reach))
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report.facts_document import facts_document

        write_json(facts_document(facts), target)
    else:
        from checker.report.facts_text import facts_text

        write_text(facts_text(facts, seconds), target)
    return CLEAN
