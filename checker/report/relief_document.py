"""What relief did as one document, schema ``cutworthy.relief/1``; lengths in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from checker.report.json import notes_document, number, unchecked_document

if TYPE_CHECKING:
    from checker.board import Board
    from checker.relief.make import Made
    from checker.relief.model import Place
    from checker.report.json import Document

SCHEMA = "cutworthy.relief/1"


def relief_document(made: Made) -> Document:
    """The account: every gap that was too narrow, what was taken for it, or why it is left."""
    relief = made.relief
    return {
        "schema": SCHEMA,
        "board": relief.board.name,
        "profile": relief.process.name,
        "width_mm": number(relief.width),
        "verdict_before": made.before.verdict.value,
        "verdict_after": made.after.verdict.value,
        "counts": {
            "places": len(relief.places),
            "closed": relief.closed,
            "opened": len(relief.opened),
            "left": len(relief.left),
            "strokes": len(relief.channels),
        },
        "files": sorted(made.files),
        "taken": [
            {"side": side, "copper_mm2": number(before), "taken_mm2": number(before - after)}
            for side, before, after in areas(relief.board, made.board)
        ],
        "unrelieved": [{"side": side, "why": why} for side, why in made.unrelieved.items()],
        "remarks": [{"rule": one.rule, "message": one.seen.message} for one in made.remarks],
        "unchecked": unchecked_document(made.after.unchecked),
        "notes": notes_document(relief.board.notes),
        "opened": [
            {
                **_place(place),
                "taken": [
                    {
                        "from": one.who,
                        "kind": one.kind,
                        "most_mm": number(one.most),
                        "spare_mm": None if one.spare is None else number(one.spare),
                    }
                    for one in place.taken
                ],
            }
            for place in relief.opened
        ],
        "left": [
            {
                **_place(place),
                "missing_mm": number(place.missing) if place.missing else None,
                "why": place.lacking,
            }
            for place in relief.left
        ],
    }


def areas(before: Board, after: Board) -> list[tuple[str, float, float]]:
    """Side, and its copper in mm2 before and after; outer sides only."""
    return [
        (was.side, float(shapely.area(was.islands).sum()), float(shapely.area(now.islands).sum()))
        for was, now in zip(before.copper, after.copper, strict=True)
        if was.side in ("top", "bottom")
    ]


def _place(place: Place) -> Document:
    return {
        "side": place.side,
        "x_mm": number(place.x),
        "y_mm": number(place.y),
        "distance_mm": number(place.distance),
        "fits_mm": number(place.fits),
        "shut": place.shut,
        "between": place.between,
        "nets": list(place.nets),
        "cause": place.cause,
    }
