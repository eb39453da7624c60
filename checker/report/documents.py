"""What was judged as a document of any format."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, TextIO

from msgspec import Struct

from checker.errors import UsageError

if TYPE_CHECKING:
    from datetime import date

    from checker.report.judged import Judged

TRACED = ("concise", "sarif", "github")  # say where in the files a finding is drawn
RELIEVED = ("text", "json", "html")  # mention what relief would do
DRAWN = ("html", "svg", "png")  # show the copper
_BINARY = ("png",)
_PICTURES = ("svg", "png", "gerber")  # of one board with one process


class Run(Struct, frozen=True):
    """A run of the check and how its answer is wanted.

    Attributes:
        judged: a report per board and process, boards first, at least one.
        severities: those that make the exit status 1.
        status: the exit status.
        seconds: how long it took.
        every: all causes and places in a text, not a handful of each.
        today: to say how old a measurement is.
    """

    judged: tuple[Judged, ...]
    severities: tuple[str, ...]
    status: int
    seconds: float
    every: bool = False
    today: date | None = None


def refuse(form: str, answers: int, to_file: bool) -> None:
    """Refuse what can't be written, before the work is done and not after.

    Args:
        form: the format.
        answers: boards times processes.
        to_file: whether a file is to take it.

    Raises:
        UsageError: a picture of several answers, a picture for a terminal, or no library for it.
    """
    where = f"--format {form}"
    if form in _PICTURES and answers > 1:
        raise UsageError(where, f"shows one board with one process, here are {answers}")
    if form in _BINARY and not to_file and sys.stdout.isatty():
        raise UsageError(where, "is no text for a terminal", advice="add --output")
    if form == "png":
        from checker.report.png import require

        require()


def load(form: str) -> None:
    """Load what a format takes that takes long to load, where there is time before it is wanted."""
    if form == "text":
        from checker.report import index_text, text  # noqa: F401


def document(run: Run, form: str, stream: TextIO | None) -> str | bytes:
    """The answer in a format that is not refused; ``stream`` takes a text, None is a file."""
    reports = [judged.report for judged in run.judged]
    match form:
        case "json":
            from checker.report import json

            return json.dumps(json.reports_document(reports))
        case "sarif":
            from checker.registry import load_rules
            from checker.report.sarif import sarif

            return sarif(run.judged, load_rules(), run.status)
        case "junit":
            from checker.report.junit import junit

            return junit(reports, run.severities)
        case "github":
            from checker.report.lines import github

            return github(run.judged)
        case "concise":
            from checker.report.lines import concise

            return concise(run.judged)
        case "html":
            from checker.report.html import html_page

            return html_page([(one.report, one.measured) for one in run.judged], run.seconds)
        case "svg":
            from checker.report.svg import svg_picture

            return svg_picture(reports[0], run.judged[0].measured)
        case "png":
            from checker.report.png import png
            from checker.report.svg import svg_picture

            return png(svg_picture(reports[0], run.judged[0].measured))
        case "gerber":
            from checker.report.gerber import gerber

            return gerber(reports[0])
        case _:
            from rich.console import Group

            from checker.report import text
            from checker.report.index_text import index_text

            content = text.reports_text(reports, run.seconds, run.every, run.today)
            return text.render(Group(index_text(reports), content), stream)
