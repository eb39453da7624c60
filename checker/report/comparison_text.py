"""A comparison of processes as text: a table, best first, then what would help the others."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from checker.board import Unchecked
from checker.methods import METHODS
from checker.odds import Odds
from checker.remedy import FINE_STEP, down, up
from checker.report import text, words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from rich.console import Console, RenderableType
    from rich.table import Table

    from checker.comparison import Comparison, Row
    from checker.work import Chore, ToolWork

_TABLE_FROM = 96
_RARE = 0.005  # what spoils fewer boards than this is not told
_MOST_SPOILERS = 3
_LONGEST_NAME = 20


def comparison_text(
    found: Comparison,
    seconds: float,
    every: bool = False,
    waivers: int = 0,
    *,
    relief: bool = False,
) -> RenderableType:
    """The whole comparison.

    Args:
        found: what to tell.
        seconds: how long it took.
        every: show all causes of every process.
        waivers: how many there are for the board, which count in a check alone.
        relief: whether it was asked what relief would do.
    """
    methods = dict.fromkeys(row.process.method for row in found.rows)
    parts: list[RenderableType] = [_Table(found), ""]
    blocks = [
        _help(found.rows, every),
        _aside(found.rows, waivers, relief),
        _pair(found),
        _odds(found),
        _hands(found.rows),
        text.unchecked(_unchecked(found.rows)),
        text.remarks(found.board.notes, every),
    ]
    if every:
        blocks.insert(3, _tools(found.rows))
    for block in blocks:
        lines = list(block)
        parts += [*lines, ""] if lines else []
    parts += [text.mind(methods), text.took(seconds)]
    return Group(*parts)


class _Table:
    """The rows, as a table or on a narrow terminal as a list."""

    def __init__(self, found: Comparison) -> None:
        self.found = found

    def __rich_console__(self, console: Console, _: object) -> Iterable[RenderableType]:
        board, rows = self.found.board, self.found.rows
        width, height = board.size
        yield Text.assemble(
            (words.plain(board.name), "bold"),
            f" ({width:.1f} x {height:.1f} mm) by {_processes(len(rows))}, best first",
        )
        yield ""
        columns = _columns(rows)
        if console.width >= _TABLE_FROM:
            yield _table(rows, columns)
        else:
            for number, row in enumerate(rows, 1):
                yield _stacked(number, row, columns)
        yield ""
        yield text.paragraph("Columns", _LEGEND)


def _processes(number: int) -> str:
    return "1 process" if number == 1 else f"{number} processes"


_LEGEND = (
    "closed: places between two nets that the nominal cut does not open; margin: how much wider a "
    "cut than the widest of the spread would still open every gap; depth: from where the foil is "
    "surely cut to where the tightest gap closes; left: the narrowest copper that joins two parts "
    "of a net once the widest cut is made; eaten: what of the copper that cut may take; time and "
    "hands: at the machine and by hand, estimated. In mm unless said; + is at least."
)


def _columns(rows: Sequence[Row]) -> dict[str, Callable[[Row], str]]:
    """Heading -> what a row says under it."""
    columns: dict[str, Callable[[Row], str]] = {
        "closed": _closed,
        "margin": _margin,
        "depth": _depth,
        "left": _left,
        "eaten": _eaten,
        "cut m": _metres,
        "time": _machine,
        "hands": lambda row: words.duration(row.work.hand_minutes),
    }
    if any(row.odds is not None for row in rows):
        columns["odds"] = _whole
    return columns


def _table(rows: Sequence[Row], columns: Mapping[str, Callable[[Row], str]]) -> Table:
    table = text.ruled_table()
    table.add_column("process", no_wrap=True)
    table.add_column("verdict", no_wrap=True)
    for heading in columns:
        table.add_column(heading, justify="right", no_wrap=True)
    for row in rows:
        table.add_row(
            words.plain(row.process.name, _LONGEST_NAME),
            text.styled_state(row.verdict.value),
            *(say(row) for say in columns.values()),
        )
    return table


def _stacked(number: int, row: Row, columns: Mapping[str, Callable[[Row], str]]) -> RenderableType:
    said = ", ".join(f"{heading} {say(row)}" for heading, say in columns.items())
    head = Text.assemble(
        (f"{number}. {words.plain(row.process.name)}", "bold"),
        ": ",
        text.styled_state(row.verdict.value),
    )
    return Group(head, text.indented(Text(said)))


def _closed(row: Row) -> str:
    return "-" if row.process.cut is None else f"{row.closed}{'+' * row.at_least}"


def _margin(row: Row) -> str:
    if row.margin is None:
        return "-"
    known = words.no_margin(row.process) is None
    return f"{row.margin:.3f}{'+' * row.beyond}" if known else "?"


def _depth(row: Row) -> str:
    if row.window is None:
        return "-"
    best, deepest = row.window.best, row.window.sure.deepest
    if best is None:
        return "none"
    least = f"{best:.2f}" if abs(best - up(best)) < FINE_STEP / 2 else f"{best:.3f}"
    if deepest == inf:
        return f"{least}+"
    return f"{least}-{max(best, down(deepest, FINE_STEP)):.3f}{'+' * row.window.beyond}"


def _left(row: Row) -> str:
    return "-" if row.left is None else f"{row.left.thinnest:.3f}{'+' * row.left.beyond}"


def _eaten(row: Row) -> str:
    return "-" if row.left is None else f"{100 * row.left.share:.1f}%"


def _metres(row: Row) -> str:
    metres = [tool.metres for tool in row.work.tools[:1] if tool.metres is not None]
    return f"{metres[0]:.1f}" if metres and row.process.bit is not None else "-"


def _machine(row: Row) -> str:
    return words.duration(row.work.machine_minutes) if row.work.tools else "-"


def _whole(row: Row) -> str:
    if row.odds is None or isinstance(row.odds, Unchecked):
        return "-"
    return f"{100 * row.odds.share:.0f}%"


# --- below the table --------------------------------------------------------------------------


def _help(rows: Sequence[Row], every: bool) -> Iterable[RenderableType]:
    """What would help those that do not make the board with margin, the smallest change first.

    With ``every`` all that was found, of the others too.
    """
    for row in rows:
        if (no_margin := words.no_margin(row.process)) is not None:
            yield Text(f"{words.plain(row.process.name)}: {no_margin}")
    said: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        if row.changes or row.relief or (every and row.counts):
            name = words.plain(row.process.name, _LONGEST_NAME)
            said.setdefault(tuple(_lines(row, every)), []).append(name)
    if not said:
        return
    yield Text("Causes and changes" if every else "What would help the others", "bold")
    for lines, names in said.items():
        yield text.indented(Text(", ".join(names)))
        yield from (text.indented(text.indented(Text(words.first_up(one)))) for one in lines)
    if not every:
        yield text.indented(Text("--all shows every cause and change"))


def _aside(rows: Sequence[Row], waivers: int, relief: bool) -> Iterable[RenderableType]:
    """What other commands would tell: of those that fail by their gaps, of relief, of waivers."""
    if partly := [row for row in rows if row.partly]:
        whole = [row for row in rows if not row.partly]
        names = _whom(partly, whole) or ("all" if len(partly) > 1 else _name(partly[0]))
        fail = "fails by its" if len(partly) == 1 else "fail by their"
        yield text.paragraph(
            "Gaps alone",
            f"{names} {fail} gaps, so no other rule was asked: check tells the rest",
        )
    many = [_name(row) for row in rows if row.process.cut and row.closed and row.relief is None]
    if relief and many:
        yield text.paragraph("Relief", f"{', '.join(many)}: {words.UNPLANNED}")
    if (passed_over := words.waived_elsewhere(waivers)) is not None:
        yield text.paragraph("Waivers", passed_over)


def _lines(row: Row, every: bool) -> Iterable[str]:
    setting = [change for change in row.changes if change.what != "layout"]
    layout = [change for change in row.changes if change.what == "layout"]
    for change in setting if every else setting[:1]:
        said = words.plain(change.text, 300)
        then = change.verdict and f": then it is {words.state(change.verdict.value)}"
        yield f"{said}{then or ''}"
    if (relief := words.relief(row)) is not None:
        yield relief
    for change in layout if every else layout[:1]:
        yield f"in the layout: {words.plain(change.text, 300)}"
    if every:
        for count in row.counts:
            yield (
                f"{words.state(count.state.value)}: {words.plain(count.cause, 200)} "
                f"({words.count(count.count, 'place')}, {count.rule})"
            )


def _pair(found: Comparison) -> Iterable[RenderableType]:
    pair = found.pair
    if pair is None:
        return
    fine, coarse = words.plain(pair.fine), words.plain(pair.coarse)
    yield text.paragraph(
        "Two bits",
        f"{fine} only where {coarse} does not fit ({pair.fine_metres:.1f} m), {coarse} for the "
        f"rest ({pair.coarse_metres:.1f} m): {words.duration(pair.minutes)} of isolation with the "
        f"change of bit, {words.duration(pair.saved)} less than {fine} alone",
    )


def _tools(rows: Sequence[Row]) -> Iterable[RenderableType]:
    """What each tool does, told once for processes that need the same of it."""
    said: dict[str, list[str]] = {}
    for row in rows:
        for tool in row.work.tools:
            said.setdefault(_tool(tool), []).append(words.plain(row.process.name, _LONGEST_NAME))
    if said:
        yield Text("Tools", "bold")
    # What a single process does first, then what many share.
    for what, names in sorted(said.items(), key=lambda one: len(one[1]) > 1):
        yield text.indented(Text(what if len(names) > 1 else f"{what} ({names[0]})"))


def _tool(tool: ToolWork) -> str:
    parts = [
        f"{tool.metres:.1f} m" if tool.metres is not None else "",
        f"{words.count(tool.hits, 'hit')}" if tool.hits is not None else "",
        words.duration(tool.minutes) if tool.minutes is not None else "",
        f"{100 * tool.tips:.0f} % of a tip's life" if tool.tips is not None else "",
    ]
    return f"{tool.tool}: {', '.join(part for part in parts if part) or 'not estimated'}"


def _odds(found: Comparison) -> Iterable[RenderableType]:
    said: dict[str, list[str]] = {}
    assumed: dict[str, list[str]] = {}
    worked_out = sum(isinstance(row.odds, Odds) for row in found.rows)
    for row in found.rows:
        if row.odds is not None:
            said.setdefault(_chances(row.odds), []).append(words.plain(row.process.name))
            if isinstance(row.odds, Odds):
                for one in row.odds.assumed:
                    assumed.setdefault(one, []).append(words.plain(row.process.name))
    if said:
        yield Text("How likely the board comes out whole", "bold")
    for chances, names in said.items():
        yield text.indented(Text(f"{', '.join(names)}: {chances}"))
    if assumed:
        # What holds for some alone is told with their names.
        sentences = [
            words.first_up(words.plain(one, 300))
            + (f" ({', '.join(names)})" if len(names) < worked_out else "")
            for one, names in assumed.items()
        ]
        yield text.paragraph("Assumed", f"{'. '.join(sentences)}.")


def _chances(odds: Odds | Unchecked) -> str:
    if isinstance(odds, Unchecked):
        return f"not worked out, {words.plain(odds.why, 300)}"
    spoiled = "; ".join(
        f"{words.plain(one.what, 200)} ({100 * one.share:.0f} %)"
        for one in odds.spoilers[:_MOST_SPOILERS]
        if one.share >= _RARE
    )
    most = f", spoiled most often by: {spoiled}" if spoiled else ""
    return f"{100 * odds.share:.1f} % ± {100 * odds.error:.1f}{most}"


def _hands(rows: Sequence[Row]) -> Iterable[RenderableType]:
    """What each method leaves to be done by hand, and what could not be estimated."""
    said: dict[str, str] = {}
    for method in METHODS:
        best = next((row for row in rows if row.process.method == method), None)
        if best is None:
            continue
        chores = ", ".join(_chore(chore) for chore in best.work.chores) or "nothing"
        unknown = "; ".join(
            f"{words.plain(entry.what)} not estimated, {words.plain(entry.why, 200)}"
            for entry in best.work.unknown
        )
        said[method] = chores + (f" ({unknown})" if unknown else "")
    if said:
        yield Text("Left to do by hand", "bold")
    for method, chores in said.items():
        yield text.indented(Text(f"{method}: {chores}"))


def _unchecked(rows: Sequence[Row]) -> dict[Unchecked, str]:
    """What was not checked, with the names of the processes where it is not so with all.

    Those that the gaps alone decided were not asked the rest.
    """
    said: dict[Unchecked, list[Row]] = {}
    for row in rows:
        for entry in row.unchecked:
            said.setdefault(entry, []).append(row)
    asked = [row for row in rows if not row.partly] or rows
    return {
        entry: _whom(told, [row for row in asked if row not in told])
        for entry, told in said.items()
    }


def _whom(told: Sequence[Row], others: Sequence[Row]) -> str:
    """The names of processes, or of the others where those are fewer; "" where there are none."""
    few = min(told, others, key=len)
    names = ", ".join(map(_name, few))
    return f"all but {names}" if others and few is others else names if few else ""


def _name(row: Row) -> str:
    return words.plain(row.process.name, _LONGEST_NAME)


def _chore(chore: Chore) -> str:
    number = f"{chore.count} " if chore.count and chore.count > 1 else ""
    minutes = f" ({words.duration(chore.minutes)})" if chore.minutes is not None else ""
    return f"{number}{words.plain(chore.what)}{minutes}"
