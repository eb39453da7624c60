"""Reports as JSON documents, schema ``cutworthy.report/1``.

Keys stand in a fixed order, coordinates and lengths are rounded to 0.1 um, areas to 0.0001 mm2;
what has no value is null, never NaN. Two runs give the same bytes.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from checker.board import Note, Unchecked
    from checker.depth import Window
    from checker.findings import Finding, Report
    from checker.process.bit import Spread
    from checker.process.model import Process
    from checker.summary import Summary

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
        "findings": [finding_document(finding) for finding in report.findings],
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
        "unchecked": unchecked_document(report.unchecked),
        "counts": dict(report.counts),
        **_accepted(report),
    }


def unchecked_document(entries: Iterable[Unchecked]) -> list[Document]:
    """What was not checked, and why."""
    return [{"what": entry.what, "why": entry.why} for entry in entries]


def notes_document(notes: Iterable[Note]) -> list[Document]:
    """What is said of files, each with its place; line 0 is the file as a whole."""
    return [{"file": note.source, "line": note.line, "text": note.text} for note in notes]


def finding_document(finding: Finding) -> Document:
    """A finding, as it stands in every list of them."""
    seen = finding.seen
    return {
        "id": finding.id,
        "rule": finding.rule,
        "severity": finding.severity.value,
        "state": seen.state.value,
        "side": seen.side,
        "x_mm": number(seen.x),
        "y_mm": number(seen.y),
        "measured_mm": number(seen.measured),
        "limit_mm": number(seen.limit),
        "nets": list(seen.nets),
        "pins": list(seen.pins),
        "message": seen.message,
        "remedy": seen.remedy,
        "cause": seen.cause,
    }


def _accepted(report: Report) -> Document:
    """What fails no more, where waivers or a baseline have a say."""
    document: Document = {}
    if report.accepted or report.stale:
        document["accepted"] = [
            {
                **finding_document(one.finding),
                "waived": one.waived,
                "why": one.why,
                "where": one.where,
                "until": None if one.until is None else str(one.until),
            }
            for one in report.accepted
        ]
        document["stale"] = notes_document(report.stale)
    if report.known is not None:
        document["worse_than_known"] = [f.id for f in report.findings if report.known.get(f.id)]
    if report.relief is not None:
        opened, shut = report.relief
        document["relief"] = {"opened": opened, "shut": shut}
    if report.drawer:
        document["drawer"] = list(report.drawer)
    return document


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


def board_document(board: Summary) -> Document:
    """What was read."""
    return {
        "name": board.name,
        "sources": [{"file": file, "role": role} for file, role in board.sources],
        "size_mm": [number(length) for length in board.size],
        "layers": [
            {
                "side": layer.side,
                "islands": layer.islands,
                "copper_mm2": number(layer.copper),
                "nets": layer.nets,
            }
            for layer in board.layers
        ],
        "holes": board.holes,
        "slots": board.slots,
        "nets_from": board.nets_from,
        "notes": notes_document(board.notes),
    }


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
