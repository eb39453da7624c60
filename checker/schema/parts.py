"""The few words that schemas are put together from: JSON Schema, draft 7, which editors know best.

A record is open: names may be added to a document without a new number of its schema. A closed one
refuses what it does not name.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import enum
    from collections.abc import Iterable

Schema = dict[str, Any]

DRAFT = "http://json-schema.org/draft-07/schema#"

TEXT: Schema = {"type": "string"}
NUMBER: Schema = {"type": "number"}
COUNT: Schema = {"type": "integer", "minimum": 0}
FLAG: Schema = {"type": "boolean"}
NULL: Schema = {"type": "null"}


def record(optional: Iterable[str] = (), /, **fields: Schema) -> Schema:
    """An object with these fields, all of them there but the optional ones."""
    left = set(optional)
    return {
        "type": "object",
        "properties": fields,
        "required": [name for name in fields if name not in left],
    }


def closed(fields: dict[str, Schema], required: Iterable[str] = ()) -> Schema:
    """An object with no other fields than these."""
    needed = list(required)
    schema: Schema = {"type": "object", "properties": fields, "additionalProperties": False}
    return {**schema, "required": needed} if needed else schema


def mapped(values: Schema) -> Schema:
    """An object with any names."""
    return {"type": "object", "additionalProperties": values}


def listed(items: Schema, count: int | None = None) -> Schema:
    """An array, of a fixed length where one is given."""
    size = {} if count is None else {"minItems": count, "maxItems": count}
    return {"type": "array", "items": items, **size}


def one_of(words: Iterable[str] | type[enum.Enum]) -> Schema:
    """One of several words, or of the values of an enumeration."""
    return {"enum": [getattr(word, "value", word) for word in words]}


def maybe(schema: Schema) -> Schema:
    """The same or null."""
    return {"anyOf": [schema, NULL]}


def within(low: float, high: float) -> Schema:
    """A number from ``low`` to ``high``."""
    return {**NUMBER, "minimum": low, "maximum": high}


def document(name: str, what: str, optional: Iterable[str] = (), /, **fields: Schema) -> Schema:
    """A document whose first field names its schema; the optional ones may be missing."""
    return {
        "$schema": DRAFT,
        "title": name,
        "description": what,
        **record(optional, schema={"const": name}, **fields),
    }
