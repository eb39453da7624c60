"""Facts as a JSON document, schema ``cutworthy.facts/1``."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.labels import labels_of
from checker.measure.edge.clearances import REACH, copper_of, holes_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.webs import webs_of
from checker.report import words
from checker.report.json import board_document, number, unchecked_document
from checker.summary import summary_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.board import Board, CopperLayer, Floats, Hole
    from checker.measure import Facts
    from checker.report.json import Document


def facts_document(facts: Facts) -> Document:
    """What was measured. Island ids run through all sides, from top to bottom."""
    board = facts.board
    starts = accumulate((len(layer.islands) for layer in board.copper[:-1]), initial=0)
    parts = list(zip(board.copper, facts.gaps, facts.necks, starts, strict=True))
    names = labels_of(board)
    return {
        "schema": "cutworthy.facts/1",
        "board": board_document(summary_of(board)),
        "islands": [island for layer, _, _, start in parts for island in _islands(layer, start)],
        "gaps": [
            {
                "side": layer.side,
                "islands": [start + int(i), start + int(j)],
                "nets": [layer.net_name[i], layer.net_name[j]],
                "pins": [names.pin(index, a), names.pin(index, b)],
                **_point(at),
                "distance_mm": number(distance),
                "widest_cut_mm": number(widest),
            }
            for index, (layer, gaps, _, start) in enumerate(parts)
            for (i, j), at, distance, widest, a, b in zip(
                gaps.islands.tolist(),
                (gaps.a + gaps.b) / 2,
                gaps.distance.tolist(),
                gaps.widest_cut[0.0].tolist(),
                gaps.object_a.tolist(),
                gaps.object_b.tolist(),
                strict=True,
            )
        ],
        "necks": [
            {
                "side": layer.side,
                "island": start + island,
                **_point(at),
                "width_mm": number(width),
                "length_mm": number(length),
                "carries": carries,
            }
            for layer, _, necks, start in parts
            for island, at, width, length, carries in zip(
                necks.island.tolist(),
                necks.at,
                necks.width.tolist(),
                necks.length.tolist(),
                necks.carries.tolist(),
                strict=True,
            )
        ],
        "holes": list(_holes(board)),
        "edges": list(_edges(board, [start for *_, start in parts])),
        "reach_mm": number(facts.reach.cut),
        "copper_reach_mm": number(facts.reach.copper),
        "web_reach_mm": number(webs_of(board).reach),
        "edge_reach_mm": number(REACH),
        "unchecked": unchecked_document(board.unchecked),
        "not_measured": [
            *(["holes"] if _holes_unread(board) else []),
            *(["holes[].edge_mm", "edges"] if board.outline is None else []),
            *(f"gaps and necks on {side}" for side in words.unmeasured_sides(facts)),
        ],
    }


def _islands(layer: CopperLayer, start: int) -> Iterable[Document]:
    """The islands of a layer, each with a point that lies inside it as printed."""
    points = shapely.point_on_surface(layer.islands)
    exact = shapely.get_coordinates(points)
    rounded = np.round(exact, 4)
    inside = shapely.contains_xy(layer.islands, rounded[:, 0], rounded[:, 1])
    rounded[~inside] = exact[~inside]
    areas = np.round(shapely.area(layer.islands), 4)
    for i, (point, area) in enumerate(zip(rounded.tolist(), areas.tolist(), strict=True)):
        yield {
            "id": start + i,
            "side": layer.side,
            "area_mm2": area,
            "point_mm": point,
            "net": layer.net_name[i],
            "net_number": int(layer.net[i]),
        }


def _holes_unread(board: Board) -> bool:
    """Whether there are none because no file told of any, which is not the same as none."""
    return not board.holes and any(entry.what == "holes" for entry in board.unchecked)


def _holes(board: Board) -> Iterable[Document]:
    """Every hole with the copper round it, the laminate to the next hole and to the edge."""
    webs, edge, rings = webs_of(board), holes_of(board), drilling_of(board).ring
    web = np.full(len(board.holes), np.inf)
    for column in (0, 1):
        np.minimum.at(web, webs.holes[:, column], webs.between)
    to_edge = np.full(len(board.holes), np.inf) if edge is None else edge.distance
    for hole, (top, bottom), apart, away in zip(
        board.holes, rings.tolist(), web.tolist(), to_edge.tolist(), strict=True
    ):
        yield {
            **_hole(hole),
            "rings": {"top": number(top), "bottom": number(bottom)},
            "web_mm": number(apart),
            "edge_mm": number(away),
        }


def _edges(board: Board, starts: Sequence[int]) -> Iterable[Document]:
    """Where copper comes near to the edge of the board."""
    near = copper_of(board)
    if near is None:
        return
    for layer, island, at, distance in zip(
        near.layer.tolist(), near.island.tolist(), near.at, near.distance.tolist(), strict=True
    ):
        yield {
            "side": board.copper[layer].side,
            "island": starts[layer] + island,
            **_point(at),
            "distance_mm": number(distance),
        }


def _hole(hole: Hole) -> Document:
    """A hole at its middle; a slot also with the path of its cutter."""
    line = np.array(hole.path, dtype=float)
    middle = line[0]
    if hole.is_slot:
        along = shapely.LineString(line).interpolate(0.5, normalized=True)
        middle = shapely.get_coordinates(along)[0]
    return {
        **_point(middle),
        "diameter_mm": number(hole.diameter),
        "plated": hole.plated,
        "path_mm": np.round(line, 4).tolist() if hole.is_slot else None,
    }


def _point(at: Floats) -> Document:
    return {"x_mm": number(float(at[0])), "y_mm": number(float(at[1]))}
