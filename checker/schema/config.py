"""The schema of a configuration file, for editors.

As that of a profile it refuses nothing that the program takes, but for a text that is the word
``null``. Whether a profile, a board or a rule of that name is there only the program can tell.
"""

from __future__ import annotations

from msgspec.structs import replace

from checker.accepted.waiver import WITHIN
from checker.config.waivers import FARTHEST, PIN, SIDE, WIDEST
from checker.config.words import MOST
from checker.process import units
from checker.process.keys import KEYS, RULE_NAME
from checker.read.roles import ROLES
from checker.schema.parts import DRAFT, FLAG, Schema, closed, listed, one_of, within
from checker.schema.profile import (
    WORDS,
    day,
    defined,
    definitions,
    fitting,
    named_profile,
    nets,
    quantity,
    severities,
    value_of,
)

_BELOW = r"^\s*(?!/|~|[A-Za-z]:|\.\.(?:/|\s*$))[^\\]*$"  # no path out of the folder
_DEFINITIONS = ("length", "current", "words")  # those of a profile's that stand here too


def config_schema() -> Schema:
    """What a configuration file may hold."""
    drills = replace(KEYS["drills.sizes"], meaning="drills you own, whatever the profile")
    stock = {
        "drills": value_of(drills),
        "bits": _told("Profiles of the bits in the drawer", _several(named_profile())),
    }
    fields = {
        "top": _told(
            "No file in the folders above counts", {"anyOf": [FLAG, one_of(["true", "false"])]}
        ),
        "boards": _told("Which boards a check takes that names none", _several(_board())),
        "profiles": _told("What a check judges by that names none", _several(named_profile())),
        "severity": severities(),
        "layers": _layers(),
        "nets": nets(),
        "stock": _told("What lies in the workshop", closed(stock)),
        "waivers": _told("Findings that will do, and why", _several(_waiver())),
    }
    known = definitions()
    return {
        "$schema": DRAFT,
        "title": "cutworthy configuration",
        "description": "What holds for the boards in a folder and below it",
        **closed(fields),
        "definitions": {name: known[name] for name in _DEFINITIONS},
    }


def _told(description: str, schema: Schema) -> Schema:
    return {"description": description, **schema}


def _several(item: Schema) -> Schema:
    """A list, or one item without brackets."""
    return {"anyOf": [item, {**listed(item), "minItems": 1, "maxItems": MOST}]}


def _board() -> Schema:
    return {**WORDS, "pattern": _BELOW}


def _layers() -> Schema:
    files = _several(WORDS)
    others = {"patternProperties": {"^inner[1-9][0-9]?$": files}}
    known = closed(dict.fromkeys(ROLES, files))
    return _told("Which files of a board are which layer, by name or pattern", {**known, **others})


def _waiver() -> Schema:
    coordinate = {
        "anyOf": [within(-FARTHEST, FARTHEST), fitting(f"-?{quantity(units.LENGTH)}")],
    }
    fields = {
        "rule": _told("Whose findings", fitting(RULE_NAME)),
        "reason": _told("Why they will do", WORDS),
        "board": _told("On which boards, as a path or pattern", _board()),
        "side": _told("On which side", fitting(SIDE)),
        "nets": _told("Between or on which nets", _several(WORDS)),
        "pins": _told("At which pins, such as U1.2", _several({**WORDS, "pattern": PIN})),
        "at": _told("Where: x and y in mm", listed(coordinate, 2)),
        "within": _told(
            f"How far from there, {WITHIN:g} mm unless said",
            {"anyOf": [within(*WIDEST), defined("length")]},
        ),
        "until": _told("The last day on which it holds", day()),
    }
    schema = closed(fields, ["rule", "reason"])
    return {**schema, "dependencies": {"within": ["at"]}}
