"""The schema of the document that tells what is configured for a board; lengths are in mm."""

from __future__ import annotations

from checker.process.keys import SEVERITIES
from checker.report.config_text import SCHEMA
from checker.schema.parts import NUMBER, TEXT, Schema, document, listed, maybe, one_of, record

_FROM = maybe(TEXT)  # "file:line"; null where nothing says it


def configured_schema() -> Schema:
    """``config --format json``."""
    named = _place(names=listed(TEXT))
    rating = dict.fromkeys(("voltage", "current", "cleared"), TEXT)
    return document(
        SCHEMA,
        "What is configured for a board, and where",
        files=listed(TEXT),
        boards=_place(patterns=listed(TEXT)),
        profiles=named,
        drills=_place(sizes_mm=maybe(listed(NUMBER))),
        bits=named,
        layers=listed(_place(role=TEXT, files=listed(TEXT))),
        severity=listed(_place(rule=TEXT, severity=one_of(SEVERITIES))),
        nets=listed(_place(tuple(rating), net=TEXT, **rating)),
        overridden=listed(record(profile=TEXT, keys=listed(TEXT))),
        waivers=listed(
            _place(
                rule=TEXT,
                reason=TEXT,
                board=maybe(TEXT),
                side=maybe(TEXT),
                nets=listed(TEXT),
                pins=listed(TEXT),
                at_mm=maybe(listed(NUMBER, 2)),
                within_mm=maybe(NUMBER),
                until=maybe(TEXT),
            )
        ),
    )


def _place(optional: tuple[str, ...] = (), /, **fields: Schema) -> Schema:
    """A value and where it comes from."""
    return record(optional, **fields, **{"from": _FROM})
