"""The schema of the account of a relief; lengths are in mm."""

from __future__ import annotations

from checker.findings import Verdict
from checker.report.relief_document import SCHEMA
from checker.schema.parts import (
    COUNT,
    FLAG,
    NUMBER,
    TEXT,
    Schema,
    document,
    listed,
    maybe,
    one_of,
    record,
)


def relief_schema() -> Schema:
    """``relieve --format json`` and relief.json."""
    place = {
        "side": one_of(("top", "bottom")),
        "x_mm": NUMBER,
        "y_mm": NUMBER,
        "distance_mm": NUMBER,
        "fits_mm": NUMBER,
        "shut": FLAG,
        "between": TEXT,
        "nets": listed(TEXT),
        "cause": TEXT,
    }
    given = {"from": TEXT, "kind": TEXT, "most_mm": NUMBER, "spare_mm": maybe(NUMBER)}
    return document(
        SCHEMA,
        "What copper was pulled back so that gaps can be cut, and which gaps are left",
        board=TEXT,
        profile=TEXT,
        width_mm=NUMBER,
        verdict_before=one_of(Verdict),
        verdict_after=one_of(Verdict),
        counts=record(places=COUNT, closed=COUNT, opened=COUNT, left=COUNT, strokes=COUNT),
        files=listed(TEXT),
        taken=listed(record(side=TEXT, copper_mm2=NUMBER, taken_mm2=NUMBER)),
        unrelieved=listed(record(side=TEXT, why=TEXT)),
        remarks=listed(record(rule=TEXT, message=TEXT)),
        unchecked=listed(record(what=TEXT, why=TEXT)),
        notes=listed(record(file=TEXT, line=COUNT, text=TEXT)),
        opened=listed(record(**place, taken=listed(record(**given)))),
        left=listed(record(**place, missing_mm=maybe(NUMBER), why=TEXT)),
    )
