"""A comparison as a JSON document, schema ``cutworthy.comparison/1``; rows best first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.report.json import (
    Document,
    board_document,
    number,
    profile_document,
    unchecked_document,
    window_document,
)
from checker.summary import summary_of

if TYPE_CHECKING:
    from checker.comparison import Change, Comparison, Pair, Row
    from checker.comparison.left import Left
    from checker.odds import Odds
    from checker.tallying import Count
    from checker.work import Work


def comparison_document(found: Comparison) -> Document:
    """Everything the text says, and the resolved profiles."""
    return {
        "schema": "cutworthy.comparison/1",
        "board": board_document(summary_of(found.board)),
        "processes": [_row(row) for row in found.rows],
        "pair": found.pair and _pair(found.pair),
    }


def _row(row: Row) -> Document:
    return {
        "name": row.process.name,
        "verdict": row.verdict.value,
        "closed_gaps": row.closed,
        "closed_gaps_at_least": row.at_least,
        "margin_mm": number(row.margin),
        "margin_at_least": row.beyond,
        "depth_window": window_document(row.window),
        "left": row.left and _left(row.left),
        "causes": [_cause(count) for count in row.counts],
        "only_gaps_judged": row.partly,
        "changes": [_change(change) for change in row.changes],
        "work": _work(row.work),
        "odds": _odds(row.odds),
        "relief": row.relief and {"opened": row.relief[0], "shut": row.relief[1]},
        "unchecked": unchecked_document(row.unchecked),
        "profile": profile_document(row.process),
    }


def _left(left: Left) -> Document:
    return {
        "drawn_mm2": number(left.drawn),
        "eaten_mm2": number(left.eaten),
        "thinnest_mm": number(left.thinnest),
        "thinnest_at_least": left.beyond,
    }


def _cause(count: Count) -> Document:
    return {
        "cause": count.cause,
        "rule": count.rule,
        "count": count.count,
        "remedy": count.remedy,
        "severity": count.severity.value,
        "state": count.state.value,
    }


def _change(change: Change) -> Document:
    return {
        "what": change.what,
        "text": change.text,
        "clears": change.clears,
        "verdict": change.verdict and change.verdict.value,
    }


def _work(work: Work) -> Document:
    return {
        "tools": [
            {
                "tool": tool.tool,
                "cut_m": number(tool.metres),
                "holes": tool.hits,
                "minutes": number(tool.minutes),
                "tips_worn": number(tool.tips),
            }
            for tool in work.tools
        ],
        "by_hand": [
            {"what": chore.what, "count": chore.count, "minutes": number(chore.minutes)}
            for chore in work.chores
        ],
        "machine_minutes": number(work.machine_minutes),
        "hand_minutes": number(work.hand_minutes),
        "not_estimated": unchecked_document(work.unknown),
    }


def _odds(odds: Odds | Unchecked | None) -> Document | None:
    if odds is None:
        return None
    if isinstance(odds, Unchecked):
        return {"share": None, "why": odds.why}
    return {
        "share": number(odds.share),
        "standard_error": number(odds.error),
        "draws": odds.draws,
        "spoilers": [
            {
                "what": one.what,
                "share": number(one.share),
                "side": one.side,
                "x_mm": number(one.x),
                "y_mm": number(one.y),
            }
            for one in odds.spoilers
        ],
        "assumed": list(odds.assumed),
    }


def _pair(pair: Pair) -> Document:
    return {
        "fine": pair.fine,
        "coarse": pair.coarse,
        "fine_m": number(pair.fine_metres),
        "coarse_m": number(pair.coarse_metres),
        "minutes": number(pair.minutes),
        "minutes_saved": number(pair.saved),
    }
