"""What has changed since the last check, for people: how much in a line, then the places.

What became worse is shown, what became better is only counted: that needs no doing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace
from rich.console import Group
from rich.text import Text

from checker.report import text, words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console, RenderableType

    from checker.changes import Change
    from checker.findings import Finding

_MOST_PLACES = 5
_SINCE = "Since the last run"
_NOTHING = "nothing has changed"


def changes_text(changes: Sequence[Change]) -> RenderableType:
    """A line and some places for each board and process that changed; one line if none did."""
    told = [change for change in changes if change.is_any]
    if not told:
        return Text(f"{_SINCE}: {_NOTHING}")
    return Group(*(_Change(change, len(changes) > 1) for change in told))


def changes_lines(changes: Iterable[Change]) -> str:
    """A line for each board and process, changed or not, for a log or another program."""
    return "".join(
        f"cutworthy: {_names(change)}: since the last run {_summary(change).plain}\n"
        for change in changes
    )


class _Change:
    """One change, laid out for the console's width."""

    def __init__(self, change: Change, named: bool) -> None:
        self.change, self.named = change, named

    def __rich_console__(self, console: Console, _: object) -> Iterable[RenderableType]:
        change = self.change
        head = f"{_SINCE}, {_names(change)}" if self.named else _SINCE
        yield Text.assemble((head, "bold"), ": ", _summary(change))
        for entry in change.unchecked:
            what, why = words.plain(entry.what), words.plain(entry.why, 300)
            yield text.indented(Text(f"No longer checked: {what}: {why}"))
        left = _MOST_PLACES
        for head, found in (("New", change.new), ("Worse", [_was(*two) for two in change.worse])):
            if shown := found[:left]:
                yield text.indented(Text(head, "bold"))
                for row in text.places(shown, text.is_wide(console)):
                    yield text.indented(text.indented(row))
            left -= len(shown)
        if (more := len(change.new) + len(change.worse) - _MOST_PLACES) > 0:
            yield text.indented(Text(f"and {words.count(more, 'more place')}"))


def _was(before: Finding, after: Finding) -> Finding:
    """The finding as it is, with the length that was measured before."""
    seen, length = after.seen, before.seen.measured
    if length is None or words.mm(length) == words.mm(seen.measured or 0.0):
        return after
    return replace(after, seen=replace(seen, message=f"{seen.message}; was {words.mm(length)} mm"))


def _names(change: Change) -> str:
    return f"{words.plain(change.board)} with {words.plain(change.process)}"


def _counts(change: Change) -> list[str]:
    """How many findings went which way; the first number says of what."""
    numbers = {
        "gone": len(change.gone),
        "new": len(change.new),
        "worse": len(change.worse),
        "better": len(change.better),
        "accepted": len(change.accepted),
    }
    counts = [f"{number} {how}" for how, number in numbers.items() if number]
    if counts:
        counts[0] = _of_findings(*counts[0].split())
    if change.unchecked:
        counts.append(f"{words.count(len(change.unchecked), 'check')} no longer made")
    if change.checked:
        counts.append(f"{words.count(len(change.checked), 'check')} made at last")
    return counts


def _of_findings(number: str, how: str) -> str:
    if how == "new":
        return words.count(int(number), "new finding")
    return f"{words.count(int(number), 'finding')} {how}"


def _verdicts(change: Change) -> Text:
    after = text.styled_state(change.after.value)
    if change.before is None:
        return Text.assemble("judged for the first time, ", after)
    return Text.assemble(words.state(change.before.value), " -> ", after)


def _summary(change: Change) -> Text:
    """All of it in a line."""
    if not change.is_any:
        return Text(_NOTHING)
    line = Text(", ".join(_counts(change)))
    if change.before is not change.after:
        line.append("; " if line else "")
        line.append_text(_verdicts(change))
    return line
