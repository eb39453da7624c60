"""The index of a text that holds several reports: one row each, as the reports follow."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from checker.report import words
from checker.report.text import ruled_table, styled_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from checker.findings import Report

_COUNTED = ("error", "warning", "note")
_ACCEPTED = ("Waived", "Known")


def index_text(reports: Sequence[Report]) -> RenderableType:
    """Verdicts and counts of all reports; nothing where there is only one."""
    if len(reports) < 2:
        return Group()
    table = ruled_table("Board", "Process", "Verdict")
    for what in _COUNTED:
        table.add_column(f"{words.first_up(what)}s", justify="right", no_wrap=True)
    table.add_column("Not checked", justify="right")
    accepted = [what for what in _ACCEPTED if any(_accepted(report)[what] for report in reports)]
    for what in accepted:
        table.add_column(what, justify="right", no_wrap=True)
    for report in reports:
        tally = Counter(finding.severity.value for finding in report.findings)
        table.add_row(
            Text(words.plain(report.board.name)),
            Text(words.plain(report.process.name)),
            styled_state(report.verdict.value),
            *(str(tally[what]) for what in _COUNTED),
            str(len(report.unchecked)),
            *(str(_accepted(report)[what]) for what in accepted),
        )
    boards = len({report.board.name for report in reports})
    processes = len({report.process.name for report in reports})
    head = f"{words.count(boards, 'board')} by {words.count(processes, 'process')}"
    return Group(Text(head, "bold"), table, "")


def _accepted(report: Report) -> Counter[str]:
    return Counter(_ACCEPTED[not one.waived] for one in report.accepted)
