"""Facts as text: how many gaps a cut of a given width leaves closed, and the narrowest places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from rich.console import Group
from rich.text import Text

from checker.isolation import parts_nets
from checker.labels import labels_of
from checker.measure.edge.clearances import copper_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.webs import webs_of
from checker.report import words
from checker.report.text import apart, indented, remarks, ruled_table, took, unchecked

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from rich.console import RenderableType

    from checker.board import Board, Floats
    from checker.measure import Facts

_STEPS = (0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0)  # mm
_MOST_PLACES = 5


def facts_text(facts: Facts, seconds: float) -> RenderableType:
    """What was measured on a board, for people."""
    return Group(*_parts(facts), "", took(seconds))


def _parts(facts: Facts) -> Iterator[RenderableType]:
    board = facts.board
    width, height = board.size
    yield Text(
        f"{words.plain(board.name)}: {width:.1f} x {height:.1f} mm, "
        f"nets from {words.plain(board.nets_from)}"
    )
    between = [parts_nets(board, index, gaps.islands) for index, gaps in enumerate(facts.gaps)]
    widest = [gaps.widest_cut[0.0][kept] for gaps, kept in zip(facts.gaps, between, strict=True)]
    yield from _counted(
        facts,
        "Gaps between nets that stay closed, by the width of the cut",
        widest,
        facts.reach.cut,
    )
    yield from _narrowest("The tightest of them", _gap_places(facts, between))
    yield from _counted(
        facts,
        "Places where copper is narrower than a width",
        [necks.width for necks in facts.necks],
        facts.reach.copper,
    )
    yield from _narrowest("The narrowest of them", _neck_places(facts))
    yield from _holes_and_edge(facts)
    unmeasured = words.unmeasured_sides(facts)
    if unmeasured:
        yield ""
        yield Text(f"Not measured: {', '.join(unmeasured)}")
    yield from apart(
        unchecked(dict.fromkeys(board.unchecked, "")), remarks(board.notes, every=True)
    )


def _holes_and_edge(facts: Facts) -> Iterator[RenderableType]:
    """The least ring, web and distance to the edge, each with its place."""
    places = list(_least(facts.board))
    if places:
        yield ""
        yield Text("Holes and edge", "bold")
        yield from _narrowest("Least of each", places)


def _least(board: Board) -> Iterator[_Place]:
    rings, webs, edge = drilling_of(board).ring, webs_of(board), copper_of(board)
    for side, column in zip(("top", "bottom"), rings.T, strict=True):
        if np.isfinite(column).any():
            row = int(np.nanargmin(column))
            x, y = np.mean(board.holes[row].path, axis=0).tolist()
            yield _Place(float(column[row]), side, x, y, "least ring of a hole")
    if len(webs):
        row = int(np.argmin(webs.between))
        x, y = webs.at[row].tolist()
        yield _Place(float(webs.between[row]), "-", x, y, "least web of two holes")
    if edge is not None and len(edge):
        row = int(np.argmin(edge.distance))
        side, (x, y) = board.copper[int(edge.layer[row])].side, edge.at[row].tolist()
        yield _Place(float(edge.distance[row]), side, x, y, "copper nearest to the edge")


def _counted(
    facts: Facts, title: str, lengths: list[Floats], reach: float
) -> Iterator[RenderableType]:
    unmeasured = words.unmeasured_sides(facts)
    columns = {
        side: column
        for side, column in zip(facts.board.sides, lengths, strict=True)
        if side not in unmeasured
    }
    table = ruled_table("mm", *columns, justify="right")
    for step in (*(step for step in _STEPS if step < reach), reach):
        below = (str(int(np.count_nonzero(column < step))) for column in columns.values())
        table.add_row(f"{step:.2f}", *below)
    yield ""
    yield Text(title, "bold")
    yield indented(table)


class _Place(Struct, frozen=True):
    length: float
    side: str
    x: float
    y: float
    what: str


def _gap_places(facts: Facts, between: list[NDArray[np.bool_]]) -> list[_Place]:
    names = labels_of(facts.board)
    places = []
    for index, (layer, gaps, kept) in enumerate(
        zip(facts.board.copper, facts.gaps, between, strict=True)
    ):
        rows = np.flatnonzero(kept & np.isfinite(gaps.widest_cut[0.0]))
        for row in rows[np.argsort(gaps.widest_cut[0.0][rows], kind="stable")][:_MOST_PLACES]:
            x, y = (gaps.a[row] + gaps.b[row]) / 2
            sides = zip(
                (int(gaps.object_a[row]), int(gaps.object_b[row])),
                gaps.islands[row].tolist(),
                strict=True,
            )
            what = " and ".join(names.standing(index, *side) for side in sides)
            places.append(_Place(float(gaps.widest_cut[0.0][row]), layer.side, x, y, what))
    return places


def _neck_places(facts: Facts) -> list[_Place]:
    names = labels_of(facts.board)
    return [
        _Place(
            length=float(necks.width[row]),
            side=layer.side,
            x=float(necks.at[row, 0]),
            y=float(necks.at[row, 1]),
            what=names.standing(index, int(necks.object[row]), int(necks.island[row])),
        )
        for index, (layer, necks) in enumerate(zip(facts.board.copper, facts.necks, strict=True))
        for row in np.argsort(necks.width, kind="stable")[:_MOST_PLACES]
    ]


def _narrowest(title: str, places: list[_Place]) -> Iterator[RenderableType]:
    if not places:
        return
    table = ruled_table("mm", "side", "x", "y", "what stands there")
    for place in sorted(places, key=lambda place: place.length)[:_MOST_PLACES]:
        numbers = words.mm(place.length), words.mm(place.x), words.mm(place.y)
        table.add_row(
            numbers[0], place.side, numbers[1], numbers[2], Text(words.plain(place.what, 120))
        )
    yield indented(Text(title))
    yield indented(table)
