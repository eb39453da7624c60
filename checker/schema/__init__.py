"""JSON Schemas of the profile and of every document, made from what the program itself goes by."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.schema.parts import Schema


def schema_of(name: str) -> Schema:
    """The schema "profile", "report", "facts", "comparison" or "limits"."""
    if name == "profile":
        from checker.schema.profile import profile_schema

        return profile_schema()
    from checker.schema import documents

    schemas = {
        "report": documents.report_schema,
        "facts": documents.facts_schema,
        "comparison": documents.comparison_schema,
        "limits": documents.limits_schema,
    }
    return schemas[name]()
