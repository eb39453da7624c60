"""Choice of the board's edge among the files that may hold it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Note, Outline, Unchecked
from checker.read.outline import ENCLOSED, Edge, remove_cutouts, trace_edge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Floats, Shapes

HOW_PROFILE = "closed centre lines of the profile layer"
HOW_UNNAMED = "closed centre lines round the copper in a file of unknown role"
HOW_ROUTED = "closed paths of the routing cutter's centre"


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """Lines of a file that may be the edge; the surest come first.

    Attributes:
        stated: the file says that it is the profile, or the user does.
    """

    source: str
    lines: Shapes
    how: str
    stated: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Chosen:
    """The edge, the file it is from, and what is to be said about it."""

    outline: Outline | None
    source: str
    notes: tuple[Note, ...]
    unchecked: tuple[Unchecked, ...]


def choose_edge(candidates: Sequence[Candidate], centres: Floats) -> Chosen:
    """The first candidate that encloses the copper; of equally sure ones the one that fits best.

    Args:
        candidates: the surest first; of one ``how`` they compete.
        centres: (n, 2) a point of each island.
    """
    notes: list[Note] = []
    failed: list[tuple[Candidate, Edge]] = []
    for how in dict.fromkeys(candidate.how for candidate in candidates):
        traced = [(c, trace_edge(c.lines, centres)) for c in candidates if c.how == how]
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
        if edge.openings:
            notes.append(Note(best.source, 0, f"besides the edge: {_opening(edge)}"))
        assert edge.area is not None
        return Chosen(Outline(edge.area, best.source, how), best.source, tuple(notes), ())
    why = "; ".join(_doubt(c, e).text for c, e in failed) if failed else "no file gives the edge"
    source = f" of {failed[0][0].source}" if failed else ""
    return Chosen(None, "", tuple(notes), (Unchecked(f"board edge{source}", why),))


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
        outline = Outline(remove_cutouts(outline.area, cutouts), outline.source, outline.how)
    return outline, list(dict.fromkeys(notes))


def _opening(edge: Edge) -> str:
    x, y, size = edge.openings[0]
    return f"{len(edge.openings)} loose ends, an opening of {size:.3f} mm at {x:.3f}, {y:.3f}"


def _doubt(candidate: Candidate, edge: Edge) -> Note:
    """Why a profile is not used."""
    if edge.area is None:
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
