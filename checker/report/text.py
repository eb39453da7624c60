"""Reports and facts as text for people: the verdict first, then the causes, worst first.

No meaning rests on colour or on a glyph: every state is written out, all drawing is ASCII.
"""

from __future__ import annotations

import os
from io import StringIO
from typing import TYPE_CHECKING, TextIO

from rich.box import Box
from rich.console import Console, Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from checker.plural import listed
from checker.report import accepted, words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from rich.console import JustifyMethod, RenderableType

    from checker.board import Note, Unchecked
    from checker.findings import Cause, Finding, Report

PIPED_WIDTH = 100
WIDEST = 120
_USUAL = 80
_TABLE_FROM = 90  # below this the columns get too thin to read, and causes are stacked
_MOST_CAUSES = 15
_MOST_DETAILED = 8
_MOST_PLACES = 3
_MOST_REMARKS = 4
_MOST_GROUPS = 8
_MOST_LABELS = 12
_RULED = Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)
_STYLE = {
    "not-makeable": "bold red",
    "marginal": "bold yellow",
    "makeable": "bold green",
}


def render(content: RenderableType, stream: TextIO | None) -> str:
    """The content as text for a stream: its width and colours if it is a terminal.

    Anything else, a file (None) too, gets 100 columns and no escape sequence: texts compare.
    """
    probe = Console(file=stream or StringIO())
    styled = probe.is_terminal and not probe.is_dumb_terminal and not probe.legacy_windows
    colour = styled and stream is not None and not os.environ.get("NO_COLOR")
    out = StringIO()
    Console(
        file=out,
        width=_width(stream, probe.legacy_windows),
        force_terminal=colour,
        color_system="standard" if colour else None,
        legacy_windows=False,
        markup=False,
        emoji=False,
        highlight=False,
    ).print(content)
    return "".join(line.rstrip() + "\n" for line in out.getvalue().splitlines())


def _width(stream: TextIO | None, legacy: bool) -> int:
    """Columns to fill: those of a terminal, a dumb one's too, unless ``COLUMNS`` says otherwise.

    An old console of Windows begins a new line after its last column by itself.
    """
    if stream is None or not stream.isatty():
        return PIPED_WIDTH
    told = os.environ.get("COLUMNS", "")
    try:
        width = int(told) if told.isdecimal() else os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):  # a stream without a number, a terminal that doesn't know
        width = 0
    return min((width or _USUAL) - legacy, WIDEST)


def reports_text(
    reports: Sequence[Report], seconds: float, every: bool = False, today: date | None = None
) -> RenderableType:
    """Every report in turn, then the cautions and the time once.

    Args:
        reports: in order.
        seconds: how long it took.
        every: show all causes, places, groups and remarks instead of a handful of each.
        today: to say how old a measurement is.
    """
    methods = dict.fromkeys(report.process.method for report in reports)
    parts: list[RenderableType] = []
    for report in reports:
        parts += [_Report(report, every, today), ""]
    parts += [mind(methods), took(seconds)]
    return Group(*parts)


def took(seconds: float) -> Text:
    """The last line of every text; a later report may replace a file that ends with it."""
    return Text(f"{words.TOOK} {seconds:.2f} s")


class _Report:
    """One report, laid out for the console's width."""

    def __init__(self, report: Report, every: bool, today: date | None) -> None:
        self.report, self.every, self.today = report, every, today

    def __rich_console__(self, console: Console, _: object) -> Iterable[RenderableType]:
        report, every = self.report, self.every
        yield _verdict(report)
        yield Text(words.first_up(words.cut_width(report.process)))
        if (measured := words.measured_when(report.process, self.today)) is not None:
            yield Text(words.first_up(measured))
        if report.window is not None:
            yield Text(words.first_up(words.depths(report.window, report.process)))
        for told in (words.drawer(report), words.relief(report), words.unplanned(report)):
            if told is not None:
                yield Text(words.first_up(told))
        if (no_margin := words.no_margin(report.process)) is not None:
            yield Text(words.first_up(no_margin))
        wide = is_wide(console)
        yield from _causes(report, wide, every)
        yield from _accepted(report, wide, every)
        yield from _joined(report, every)
        yield from apart(
            unchecked(dict.fromkeys(report.unchecked, "")), remarks(report.board.notes, every)
        )
        yield ""
        yield _examined(report)


def _causes(report: Report, wide: bool, every: bool) -> Iterable[RenderableType]:
    """The table and then the places; on a narrow terminal one list of both."""
    shown = report.causes[: None if every else _MOST_CAUSES]
    if not shown:
        return
    detailed = shown[:_MOST_DETAILED] if wide and not every else shown
    if wide:
        yield ""
        yield _table(shown)
        yield from _rest(len(report.causes) - len(shown), "cause")
    for number, cause in enumerate(detailed, 1):
        yield ""
        yield _heading(number, cause)
        if not wide:
            yield indented(_summary(cause))
        yield from map(indented, _places(cause, wide, every))
    if len(detailed) < len(report.causes):
        yield ""
        yield Text("Places of the other causes: --all shows them")
    yield ""
    yield paragraph("More on a rule", f"cutworthy explain {shown[0].rule}")


def _verdict(report: Report) -> Text:
    verdict = report.verdict.value
    line = Text()
    line.append(words.state(verdict).capitalize(), _STYLE.get(verdict, "bold"))
    line.append(f": {words.plain(report.board.name)} with {words.plain(report.process.name)}")
    line.append(words.how_far(report))
    line.append(accepted.told(report))
    return line


def _worst(cause: Cause) -> tuple[str, str]:
    """Measured and limit of a cause's worst place, "-" where no length decides."""
    seen = cause.findings[0].seen
    return (
        "-" if seen.measured is None else words.mm(seen.measured),
        "-" if seen.limit is None else words.mm(seen.limit),
    )


def _table(causes: Sequence[Cause]) -> Table:
    table = ruled_table()
    table.add_column("", justify="right", no_wrap=True)
    table.add_column("Cause", ratio=1, overflow="fold")
    table.add_column("Places", justify="right", no_wrap=True)
    table.add_column("State", no_wrap=True)
    table.add_column("Worst mm", justify="right", no_wrap=True)
    table.add_column("Limit mm", justify="right", no_wrap=True)
    table.add_column("What to do", ratio=1, overflow="fold")
    for number, cause in enumerate(causes, 1):
        table.add_row(
            str(number),
            Text(words.first_up(words.plain(cause.cause, 200))),
            str(len(cause.findings)),
            styled_state(cause.state.value),
            *_worst(cause),
            Text(words.first_up(words.plain(cause.remedy, 300))),
        )
    return table


def _heading(number: int, cause: Cause) -> Text:
    return Text.assemble(
        (f"{number}. {words.first_up(words.plain(cause.cause, 200))}", "bold"),
        f" ({cause.rule}, {cause.severity.value})",
    )


def _summary(cause: Cause) -> RenderableType:
    """What a row of the table says, for a terminal too narrow for one."""
    measured, limit = _worst(cause)
    state = styled_state(cause.state.value)
    lengths = f", worst {measured}, limit {limit} mm" if measured != "-" else ""
    return Group(
        Text.assemble(words.count(len(cause.findings), "place"), ", ", state, lengths),
        Text(words.first_up(words.plain(cause.remedy, 300))),
    )


def _places(cause: Cause, wide: bool, every: bool) -> Iterable[RenderableType]:
    shown = cause.findings[: None if every else _MOST_PLACES]
    yield from places(shown, wide)
    yield from _rest(len(cause.findings) - len(shown), "place")


def is_wide(console: Console) -> bool:
    """Whether there is room for columns of text beside each other."""
    return console.width >= _TABLE_FROM


def places(findings: Sequence[Finding], wide: bool) -> Iterable[RenderableType]:
    """Where each finding stands and what was seen there."""
    rows = [(Text(words.place(found)), Text(words.message(found))) for found in findings]
    if wide:
        grid = Table.grid(padding=(0, 2, 0, 0))
        for row in rows:
            grid.add_row(*row)
        yield grid
    else:
        for place, message in rows:
            yield place
            yield indented(message)


def _accepted(report: Report, wide: bool, every: bool) -> Iterable[RenderableType]:
    """What lets findings pass, and what no longer does."""
    if report.accepted:
        yield ""
        yield Text("Accepted", "bold")
    for source in accepted.sources(report):
        yield indented(Text(source.says))
        if every:
            yield from (indented(indented(row)) for row in places(source.findings, wide))
    if report.stale:
        yield ""
        yield Text("Out of date", "bold")
    yield from (indented(Text(accepted.stale(note))) for note in report.stale)


def _joined(report: Report, every: bool) -> Iterable[RenderableType]:
    if not report.joined:
        return
    groups = report.joined[: None if every else _MOST_GROUPS]
    yield ""
    yield Text("Nets that stay joined at the nominal width", "bold")
    for side, nets in groups:
        names = [words.plain(net, 24) for net in nets[: None if every else _MOST_LABELS]]
        more = len(nets) - len(names)
        yield indented(Text(f"{side}: {'; '.join(names)}{f' and {more} more' if more else ''}"))
    yield from map(indented, _rest(len(report.joined) - len(groups), "group"))


def apart(*blocks: Iterable[RenderableType]) -> Iterable[RenderableType]:
    """Blocks of lines with an empty line before each; those without a line are left out."""
    for block in blocks:
        if lines := list(block):
            yield from ("", *lines)


def unchecked(entries: Mapping[Unchecked, str]) -> Iterable[RenderableType]:
    """What was not checked, by reason; each entry with whom it is told of, "" where of all."""
    if not entries:
        return
    yield Text("Not checked", "bold")
    for whom in dict.fromkeys(entries.values()):
        some = (entry for entry, one in entries.items() if one == whom)
        for why, what in words.by_reason(some).items():
            yield indented(Text(f"{', '.join(what)}: {why}{whom and f' ({whom})'}"))


def remarks(notes: Sequence[Note], every: bool) -> Iterable[RenderableType]:
    """Remarks on the files, all of them or a handful."""
    shown = notes[: None if every else _MOST_REMARKS]
    if not notes:
        return
    yield Text("Remarks on the files", "bold")
    for note in shown:
        yield indented(Text(words.remark(note)))
    yield from map(indented, _rest(len(notes) - len(shown), "remark"))


def _examined(report: Report) -> RenderableType:
    board = report.board
    width, height = board.size
    counts = [_counted(number, what) for what, number in report.counts.items()]
    parts = [
        f"board {width:.1f} x {height:.1f} mm",
        f"copper on {listed(board.sides)}",
        *([", ".join(counts)] if counts else []),
        f"nets from {words.plain(board.nets_from)}",
    ]
    return paragraph("Examined", "; ".join(parts))


def _counted(number: int, what: str) -> str:
    """The engine's key with its number; what is counted only up to the cut's width says so."""
    noun = {"gaps": "narrow gaps", "necks": "narrow necks"}.get(what, words.plain(what))
    return words.count(number, noun.removesuffix("s"))


def styled_state(value: str) -> Text:
    """A state or verdict in words and its colour."""
    return Text(words.state(value), _STYLE.get(value, "bold"))


def mind(methods: Iterable[str]) -> RenderableType:
    """What to mind with these methods."""
    cautions = dict.fromkeys(text for method in methods for text in words.cautions(method))
    return paragraph("Mind", " ".join(cautions))


def paragraph(head: str, text: str) -> Table:
    """A text set in beside its bold heading."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row(Text(f"{head}:", "bold"), Text(text))
    return grid


def ruled_table(*columns: str, justify: JustifyMethod = "left") -> Table:
    """A table without lines but one under its header."""
    table = Table(box=_RULED, show_edge=False, padding=(0, 1, 0, 0), header_style="bold")
    for column in columns:
        table.add_column(column, justify=justify, overflow="fold")
    return table


def indented(content: RenderableType) -> Padding:
    """The content set in from the left."""
    return Padding(content, (0, 0, 0, 3))


def _rest(number: int, what: str) -> Iterable[Text]:
    if number > 0:
        yield Text(f"and {words.count(number, f'more {what}')}; --all shows them")
