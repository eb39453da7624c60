"""A calibration as text: the cut, what to mind, what was read, what goes into the new profile."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from checker.report import calibration_words as said
from checker.report import text, words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.console import RenderableType

    from checker.calibration import Calibration, Change

_LEGEND = "Intervals hold the truth with 95 %; bounds of a comb are one-sided (Clopper and Pearson)"


def calibration_text(
    calibration: Calibration,
    changes: Sequence[Change],
    seconds: float,
    written: str | None = None,
) -> RenderableType:
    """All that a coupon says of a process, for people.

    Args:
        calibration: as fitted.
        changes: of boards that were judged before and after.
        seconds: how long it took.
        written: the profile's file, None where none was written.
    """
    parts: list[RenderableType] = [
        Text.assemble(("Measured", "bold"), f": {said.head(calibration)}"),
        *map(Text, said.width(calibration)),
        *map(Text, said.shape(calibration)),
    ]
    for block in (
        _warnings(calibration),
        _read(calibration),
        _set(calibration),
        _changed(changes),
    ):
        lines = list(block)
        parts += ["", *lines] if lines else []
    if written is not None:
        parts += ["", text.paragraph("Written", words.plain(written, 300))]
    return Group(*parts, text.mind([calibration.process.method]), text.took(seconds))


def _warnings(calibration: Calibration) -> Iterator[RenderableType]:
    if calibration.warnings:
        yield Text("Look again", "bold")
        for warning in calibration.warnings:
            yield text.indented(Text(words.first_up(words.plain(warning, 400))))


def _read(calibration: Calibration) -> Iterator[RenderableType]:
    directions, combs = list(said.directions(calibration)), list(said.combs(calibration))
    if directions:
        yield Text("Differences between directions", "bold")
        yield _table(("", "wider by mm", ""), directions)
    if combs:
        yield Text("Combs", "bold")
        yield _table(("", "all from", "read", "sure"), combs)
    others = list(said.others(calibration))
    if others:
        yield Text("Other readings", "bold")
        yield from (text.indented(Text(line)) for line in others)
    if directions or combs:
        yield text.indented(Text(_LEGEND))


def _set(calibration: Calibration) -> Iterator[RenderableType]:
    yield Text("What goes into the profile", "bold")
    yield _table(("key", "before", "after", "from"), said.settings(calibration))
    for key, why in said.kept(calibration).items():
        yield text.indented(Text(f"{key} stays: {words.plain(why, 300)}"))


def _changed(changes: Sequence[Change]) -> Iterator[RenderableType]:
    if changes:
        yield Text("Boards, before and after", "bold")
        yield _table(("board", "before", "after", "closed places"), said.changed(changes))


def _table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> RenderableType:
    table = text.ruled_table(*columns)
    for row in rows:
        table.add_row(*map(Text, row))
    return text.indented(table)
