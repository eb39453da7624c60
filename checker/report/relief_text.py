"""What relief did, for people: how many gaps are won, from whom, and which are left."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from checker.report import text, words
from checker.report.relief_document import areas

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import RenderableType
    from rich.table import Table

    from checker.relief.make import Made
    from checker.relief.model import Place, Relief

_MOST_LEFT = 5  # places shown without --all
_PERCENT = 100


def relief_text(
    made: Made, seconds: float, every: bool = False, waivers: int = 0, *, dry_run: bool = False
) -> RenderableType:
    """The account.

    Args:
        made: what to tell.
        seconds: how long it took.
        every: show all places that are left and all remarks on the files.
        waivers: how many there are for the board, which count in a check alone.
        dry_run: nothing is written.
    """
    blocks = [
        _head(made, waivers),
        _causes(made.relief),
        _left(made.relief, every),
        _remarks(made),
        _taken(made, dry_run),
        text.unchecked(dict.fromkeys(made.after.unchecked, "")),
        text.remarks(made.relief.board.notes, every),
    ]
    parts: list[RenderableType] = []
    for block in blocks:
        lines = list(block)
        parts += [*lines, ""] if lines else []
    return Group(*parts, text.mind([made.relief.process.method]), text.took(seconds))


def _head(made: Made, waivers: int) -> Iterator[RenderableType]:
    relief = made.relief
    before, after = (words.state(one.verdict.value) for one in (made.before, made.after))
    name, profile = words.plain(relief.board.name), words.plain(relief.process.name)
    verdict = f"{before} before, {after} after" if before != after else f"{after} as before"
    yield Text.assemble(
        (f"{name} with {profile}", "bold"), f": {verdict}{words.how_far(made.after)}"
    )
    yield Text(summary(relief))
    for side, why in made.unrelieved.items():
        yield Text(f"Not relieved: {side}: {words.plain(why, 200)}")
    for told in (words.no_margin(relief.process), words.waived_elsewhere(waivers)):
        if told is not None:
            yield Text(words.first_up(told))


def summary(relief: Relief) -> str:
    """How many gaps are opened and how many are left, in a line."""
    places, opened, left = len(relief.places), len(relief.opened), len(relief.left)
    if not places:
        return f"A cut of {relief.width:.3f} mm passes every gap: nothing to relieve"
    gaps = f"{words.count(places, 'gap')} too narrow for a cut of {relief.width:.3f} mm"
    if not left:
        return f"All of {gaps} opened"
    stay = "1 stays as it is" if left == 1 else f"{left} stay as they are"
    return f"{opened} of {gaps} opened; {stay}"


def _causes(relief: Relief) -> Iterator[RenderableType]:
    groups: defaultdict[str, list[Place]] = defaultdict(list)
    for place in relief.places:
        groups[place.cause].append(place)
    if not groups:
        return
    table: Table = text.ruled_table("Between", "Gaps", "Opened", "Left", "Taken, at most mm")
    for column in table.columns[1:4]:
        column.justify = "right"
    for cause, places in sorted(groups.items(), key=lambda one: (-len(one[1]), one[0])):
        opened = sum(place.channel is not None for place in places)
        row = (cause, str(len(places)), str(opened), str(len(places) - opened), _most(places))
        table.add_row(*map(Text, row))
    yield table


def _most(places: Iterable[Place]) -> str:
    most: dict[str, float] = {}
    for place in places:
        for one in place.taken:
            most[one.kind] = max(one.most, most.get(one.kind, 0.0))
    return ", ".join(f"{kind} {length:.3f}" for kind, length in sorted(most.items())) or "-"


def _left(relief: Relief, every: bool) -> Iterator[RenderableType]:
    left = relief.left
    if not left:
        return
    yield Text("What stays as it is", "bold")
    shown = left if every else left[:_MOST_LEFT]
    for place in shown:
        yield text.indented(
            Text(f"{place.side:7} x {place.x:8.3f}  y {place.y:8.3f}  {_why(place)}")
        )
    if len(shown) < len(left):
        yield text.indented(
            Text(f"and {words.count(len(left) - len(shown), 'more place')}; --all shows them")
        )


def _why(place: Place) -> str:
    between = words.plain(place.between, 120)
    why = words.plain(place.lacking, 160)
    if place.missing:
        return f"{between}: {place.missing:.3f} mm missing, no more to spare on {why}"
    return f"{between}: {why}"


def _remarks(made: Made) -> Iterator[RenderableType]:
    if made.remarks:
        yield Text("What comes with it", "bold")
    for one in made.remarks:
        yield text.indented(Text(f"{words.message(one)} ({one.rule}, {one.severity.value})"))


def _taken(made: Made, dry_run: bool) -> Iterator[RenderableType]:
    for side, before, after in areas(made.relief.board, made.board):
        if before - after > 0 and made.files:
            share = _PERCENT * (before - after) / before
            yield Text(f"Taken on {side}: {before - after:.2f} of {before:.0f} mm2, {share:.2f} %")
    for name in sorted(made.files):
        if dry_run:
            yield Text(f"Would change: {words.plain(name)}; a dry run writes nothing")
        else:
            yield Text(
                f"Changed: {words.plain(name)}; what was in it is in it still, word for word"
            )
