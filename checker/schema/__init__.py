"""JSON Schemas of profile, configuration and documents, made from what the program goes by."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.schema.parts import Schema


def schema_of(name: str) -> Schema:
    """The schema of the files "profile" and "config", or of a document such as "report"."""
    if name == "profile":
        from checker.schema.profile import profile_schema

        return profile_schema()
    if name == "config":
        from checker.schema.config import config_schema

        return config_schema()
    if name == "configured":
        from checker.schema.configured import configured_schema

        return configured_schema()
    from checker.schema import documents
    from checker.schema.calibration import calibration_schema
    from checker.schema.relief import relief_schema

    schemas = {
        "calibration": calibration_schema,
        "relief": relief_schema,
        "report": documents.report_schema,
        "facts": documents.facts_schema,
        "comparison": documents.comparison_schema,
        "limits": documents.limits_schema,
    }
    return schemas[name]()
