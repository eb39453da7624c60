"""``measure``: what a board measures, whatever the process."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from checker.commands.shared import board_of, target_of, write_json, write_text
from checker.console import CLEAN
from checker.options import add_board, length_up_to

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


WIDEST = 5.0  # mm; the time a census takes grows with its reach


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "measure",
        help="measure a board, whatever the process",
        description="Measure a board, whatever the process: the gaps between islands of copper "
        "with the widest cut that still separates them, and the copper's narrow places.",
        allow_abbrev=False,
    )
    add_board(parser)
    parser.add_argument(
        "--reach",
        metavar="MM",
        type=length_up_to(WIDEST),
        default=0.5,
        help="look for gaps and copper up to this width in mm (default: 0.5)",
    )


def run(args: argparse.Namespace) -> int:
    """Measure gaps, narrow copper, holes and edges."""
    from checker.measure import Reach, measure

    begin = time.perf_counter()
    target = target_of(args)
    with board_of(args) as (board, _, tell):
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
