"""Reports and facts as JSON documents, schemas ``cutworthy.report/1`` and ``cutworthy.facts/1``.

Keys stand in a fixed order, coordinates and lengths are rounded to 0.1 um, areas to 0.0001 mm2;
what has no value is null, never NaN. Two runs give the same bytes.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from checker.labels import labels_of
from checker.measure.edge.clearances import REACH, copper_of, holes_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.webs import webs_of
from checker.report import words

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Hole
    from checker.depth import Window
    from checker.findings import Report
    from checker.measure import Facts
    from checker.process.model import Process, Spread

Document = dict[str, Any]


def dumps(document: Document) -> str:
    """The document as text, an entry of a list per line, so that two can be compared.

    ASCII only: no console or locale can spoil it.
    """
    fields = (f" {_compact(key)}: {_lines(value)}" for key, value in document.items())
    return "{\n" + ",\n".join(fields) + "\n}\n"


def _lines(value: object) -> str:
    if not (isinstance(value, list) and value and isinstance(value[0], dict)):
        return _compact(value)
    return "[\n" + ",\n".join("  " + _compact(entry) for entry in value) + "\n ]"


# Made once, and without indentation, where the standard library writes ten times faster.
_compact = json.JSONEncoder(allow_nan=False).encode


def reports_document(reports: Sequence[Report]) -> Document:
    """One report as it is; several as a list under the schema ``cutworthy.reports/1``."""
    if len(reports) == 1:
        return report_document(reports[0])
    return {
        "schema": "cutworthy.reports/1",
        "reports": [report_document(report) for report in reports],
    }


def report_document(report: Report) -> Document:
    """The answer for one board and one process."""
    return {
        "schema": "cutworthy.report/1",
        "board": board_document(report.board),
        "profile": profile_document(report.process),
        "verdict": report.verdict.value,
        "depth_window": window_document(report.window),
        "findings": [
            {
                "id": finding.id,
                "rule": finding.rule,
                "severity": finding.severity.value,
                "state": finding.seen.state.value,
                "side": finding.seen.side,
                "x_mm": number(finding.seen.x),
                "y_mm": number(finding.seen.y),
                "measured_mm": number(finding.seen.measured),
                "limit_mm": number(finding.seen.limit),
                "nets": list(finding.seen.nets),
                "pins": list(finding.seen.pins),
                "message": finding.seen.message,
                "remedy": finding.seen.remedy,
                "cause": finding.seen.cause,
            }
            for finding in report.findings
        ],
        "causes": [
            {
                "cause": cause.cause,
                "rule": cause.rule,
                "count": len(cause.findings),
                "remedy": cause.remedy,
                "severity": cause.severity.value,
                "state": cause.state.value,
            }
            for cause in report.causes
        ],
        "joined": [{"side": side, "nets": list(nets)} for side, nets in report.joined],
        "unchecked": [{"what": entry.what, "why": entry.why} for entry in report.unchecked],
        "counts": dict(report.counts),
    }


def window_document(window: Window | None) -> Document | None:
    """The depths that do; ``deepest_mm`` null where none is too deep."""
    if window is None:
        return None
    return {
        "shallowest_mm": number(window.sure.shallowest),
        "deepest_mm": number(window.sure.deepest),
        "empty": window.sure.empty,
        "best_mm": number(window.best),
        "flatness_mm": number(window.flatness),
        "tightest_gap_mm": number(window.fits),
        "gaps_that_tight": not window.beyond,
    }


def profile_document(process: Process) -> Document:
    """The resolved profile, name, method and widths of the cut first."""
    head: Document = {
        "name": process.name,
        "method": process.method,
        "cut_width_mm": _spread(process.cut),
        "cut_width_rss_mm": _spread(process.cut_rss),
        "foot_width_mm": _spread(process.foot),
        "cut_width_measured": process.measured,
        "spread_known": process.spread_known,
    }
    rest = {key: _value(value) for key, value in process.resolved.items() if key not in head}
    return {**head, **rest, "limits_from": dict(process.limits_from)}


def board_document(board: Board) -> Document:
    """What was read."""
    return {
        "name": board.name,
        "sources": [{"file": file, "role": role} for file, role in board.sources],
        "size_mm": [number(length) for length in board.size],
        "layers": [
            {
                "side": layer.side,
                "islands": len(layer.islands),
                "copper_mm2": number(float(np.sum(shapely.area(layer.islands)))),
                "nets": len(np.unique(layer.net)),
            }
            for layer in board.copper
        ],
        "holes": sum(not hole.is_slot for hole in board.holes),
        "slots": sum(hole.is_slot for hole in board.holes),
        "nets_from": board.nets_from,
        "notes": [
            {"file": note.source, "line": note.line, "text": note.text} for note in board.notes
        ],
    }


def facts_document(facts: Facts) -> Document:
    """What was measured. Island ids run through all sides, from top to bottom."""
    board = facts.board
    starts = accumulate((len(layer.islands) for layer in board.copper[:-1]), initial=0)
    parts = list(zip(board.copper, facts.gaps, facts.necks, starts, strict=True))
    names = labels_of(board)
    return {
        "schema": "cutworthy.facts/1",
        "board": board_document(board),
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
        "not_measured": [
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


def _spread(spread: Spread | None) -> Document | None:
    if spread is None:
        return None
    ends = {"least": spread.least, "nominal": spread.nominal, "most": spread.most}
    return {name: number(end) for name, end in ends.items()}


def number(value: float | None) -> float | None:
    """Rounded to 1e-4; None for what is not finite; no negative zero."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), 4) + 0.0


def _value(value: object) -> object:
    """A value of a resolved profile as JSON knows it."""
    if isinstance(value, Mapping):
        return {str(key): _value(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_value(entry) for entry in value]
    if isinstance(value, float):
        return number(value)
    if value is None or isinstance(value, bool | int | str):
        return value
    return str(value)
