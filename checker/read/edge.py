"""Choice of the board's edge among the files that may hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker import plural
from checker.board import Note, Outline, Unchecked
from checker.read.outline import (
    ENCLOSED,
    Edge,
    Opening,
    gaps_between,
    remove_cutouts,
    trace_edge,
    widest_ring,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Floats, Shapes

HOW_PROFILE = "closed centre lines of the profile layer"
HOW_UNNAMED = "closed centre lines round the copper in a file of unknown role"
HOW_ROUTED = "closed paths of the routing cutter's centre"
HOW_STRAY = "the widest closed line of the profile layer, which does not go round the copper"


class Candidate(Struct, frozen=True, eq=False):
    """Lines of a file that may be the edge; the surest come first.

    Attributes:
        lines: LineStrings, in several ways to take them from the file, tried in turn.
        stated: the file says that it is the profile, or the user does.
    """

    source: str
    lines: tuple[Shapes, ...]
    how: str
    stated: bool = False


class Chosen(Struct, frozen=True, eq=False):
    """The edge, the file it is from, and what is to be said about it.

    Where no other edge is found, ``stray`` is a closed profile away from the copper, and ``open``
    tells where a profile is not closed. ``crossed`` tells where the edge, or else a profile, meets
    itself.
    """

    outline: Outline | None
    source: str
    notes: tuple[Note, ...]
    unchecked: tuple[Unchecked, ...]
    stray: Outline | None = None
    open: tuple[Opening, ...] = ()
    crossed: tuple[tuple[float, float], ...] = ()


def choose_edge(
    candidates: Sequence[Candidate],
    centres: Floats,
    drilled: Floats,
    islands: Shapes | None = None,
) -> Chosen:
    """The first candidate that encloses the copper; of equally sure ones the one that fits best.

    Args:
        candidates: the surest first; of one ``how`` they compete.
        centres: (n, 2) a point of each island.
        drilled: (n, 3) x, y and diameter of round holes.
        islands: (n,) those islands, where they are at hand.
    """
    notes: list[Note] = []
    failed: list[tuple[Candidate, Edge]] = []
    for how in dict.fromkeys(candidate.how for candidate in candidates):
        traced = [(c, _trace(c, centres, drilled, islands)) for c in candidates if c.how == how]
        good = [(c, e) for c, e in traced if e.area is not None and e.share >= ENCLOSED]
        if how == HOW_PROFILE:
            failed = [pair for pair in traced if pair not in good]
        if not good:
            continue
        # A stated profile comes first; then the one that is closed everywhere.
        best, edge = min(good, key=lambda pair: (not pair[0].stated, len(pair[1].openings)))
        notes += [Note(best.source, 0, remark) for remark in edge.remarks]
        notes += [_doubt(c, e) for c, e in failed]
        notes += [_other(c, e, edge, best.source) for c, e in good if c is not best]
        if how != HOW_PROFILE:
            notes.append(Note(best.source, 0, f"taken as the board's edge: {how}"))
        assert edge.area is not None
        notes += _remains(best, edge, edge.area, centres, islands)
        return Chosen(
            Outline(edge.area, best.source, how, edge.bridged),
            best.source,
            tuple(notes),
            (Unchecked(f"cut-outs of {best.source}", edge.doubt),) if edge.doubt else (),
            crossed=edge.crossed,
        )
    why = "; ".join(_doubt(c, e).text for c, e in failed) if failed else "no file gives the edge"
    source = f" of {failed[0][0].source}" if failed else ""
    unchecked = (Unchecked(f"board edge{source}", why),)
    gaps = [gaps_between(e.openings) for _, e in failed if e.area is None and e.openings]
    return Chosen(
        None,
        "",
        tuple(notes),
        unchecked,
        _stray([candidate for candidate, _ in failed]),
        min(gaps, key=len, default=()),
        next((e.crossed for _, e in failed if e.crossed), ()),
    )


def _stray(candidates: Sequence[Candidate]) -> Outline | None:
    """The widest closed line of the first profile that holds one."""
    for candidate in candidates:
        for lines in candidate.lines:
            area = widest_ring(lines)
            if area is not None:
                return Outline(area, candidate.source, HOW_STRAY)
    return None


def cut_out(
    outline: Outline, contours: Sequence[tuple[str, shapely.LineString]]
) -> tuple[Outline, list[Note]]:
    """The outline without routed cut-outs and very large holes that it does not show itself."""
    notes: list[Note] = []
    cutouts = []
    whole = shapely.union_all([shapely.Polygon(part.exterior) for part in outline.area.geoms])
    for source, line in contours:
        inside = shapely.Polygon(line).buffer(0)
        covered = shapely.area(shapely.intersection(inside, whole))
        if covered > 0.9 * whole.area:
            apart = float(np.abs(np.subtract(inside.bounds, whole.bounds)).max())
            if apart > 0.1 and source != outline.source:
                text = f"its routed edge lies up to {apart:.2f} mm from that of {outline.source}"
                notes.append(Note(source, 0, text))
        elif shapely.area(shapely.intersection(inside, outline.area)) > 0.01 * covered:
            cutouts.append(inside)
            notes.append(Note(source, 0, "a closed routed path taken as a cut-out"))
    if cutouts:
        outline = replace(outline, area=remove_cutouts(outline.area, cutouts))
    return outline, list(dict.fromkeys(notes))


def _trace(candidate: Candidate, centres: Floats, drilled: Floats, islands: Shapes | None) -> Edge:
    tried = []
    for lines in candidate.lines:
        edge = trace_edge(lines, centres, drilled, islands)
        if edge.area is not None:
            return edge
        tried.append(edge)
    telling = (edge for edge in tried if edge.openings or edge.remarks or edge.crossed)
    return next(telling, tried[-1])


def _remains(
    candidate: Candidate,
    edge: Edge,
    area: shapely.MultiPolygon,
    centres: Floats,
    islands: Shapes | None,
) -> list[Note]:
    """What the chosen edge leaves open inside, and the copper it leaves outside."""
    notes = []
    shapely.prepare(area)
    loose = [end for end in edge.openings if shapely.contains_xy(area, end.x, end.y)]
    if loose:
        ends = plural.count(len(loose), "loose end")
        text = f"open lines inside the edge, which are no cut-outs: {ends}"
        notes.append(
            Note(candidate.source, 0, f"{text}, one at {loose[0].x:.3f}, {loose[0].y:.3f}")
        )
    inside = shapely.intersects_xy(area, centres)
    if islands is not None:  # a cut-out may take the middle of what lies on the board
        inside[~inside] = shapely.intersects(area, islands[~inside])
    outside = centres[~inside]
    if len(outside):
        x, y = outside[0]
        text = f"{plural.count(len(outside), 'island')} of copper outside the edge"
        notes.append(Note(candidate.source, 0, f"{text}, one at {x:.3f}, {y:.3f}"))
    return notes


def _opening(edge: Edge) -> str:
    x, y, size = edge.openings[0]
    ends = plural.count(len(edge.openings), "loose end")
    return f"{ends}, an opening of {size:.3f} mm at {x:.3f}, {y:.3f}"


def _doubt(candidate: Candidate, edge: Edge) -> Note:
    """Why a profile is not used."""
    if edge.area is None and edge.remarks:
        text = edge.remarks[0]
    elif edge.area is None:
        text = (
            f"not closed round the copper: {_opening(edge)}"
            if edge.openings
            else ("holds no closed line round the copper")
        )
    else:
        text = f"its closed lines enclose only {100 * edge.share:.0f} % of the copper's islands"
    return Note(candidate.source, 0, text)


def _other(candidate: Candidate, edge: Edge, best: Edge, source: str) -> Note:
    """What a second usable profile says."""
    assert edge.area is not None
    assert best.area is not None
    apart = float(np.abs(np.subtract(edge.area.bounds, best.area.bounds)).max())
    return Note(
        candidate.source,
        0,
        f"a second profile, not used; its edge lies up to {apart:.2f} mm from that of {source}",
    )
