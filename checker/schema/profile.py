"""The schema of a profile as a user writes it, for editors; from the table of keys.

It refuses nothing that the program takes, but for a title that is the word ``null``. The program
refuses more: what only shows once the profile is laid over the one it is based on, bounds of a
length that is not in mm, values that do not fit each other. A file that an editor has read no
longer tells an empty value from ``null``, so where ``none`` may stand an empty value passes here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.methods import METHODS
from checker.process import profile_names, units
from checker.process.keys import KEYS, RULE_NAME, SEVERITIES, SHAPES_OF, Kind
from checker.process.ratings import CLEARED, CURRENT, HIGHEST, MOST_NETS, STRONGEST, VOLTAGE
from checker.process.values import LONGEST_LIST
from checker.schema.parts import DRAFT, NULL, NUMBER, Schema, closed, listed, one_of, within

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from checker.process.keys import Key

_NOT_NEGATIVE = (
    rf"(?:\+?{units.DECIMAL}|-[0.]+)(?:[eE][+-]?[0-9]{{1,2}})?(?:\s*/\s*{units.DECIMAL})?"
)
_SIGN = r"(?:±|\+/-|\+-|\bsd\b)"
WORDS: Schema = {"type": ["string", "number", "boolean"], "pattern": r"\S"}  # title: no
_FREE: Mapping[str, str] = {
    "nets": "Voltages and currents of nets",
    "severity": "How much the findings of a rule weigh",
}


def profile_schema() -> Schema:
    """What a profile may hold."""
    fields: dict[str, Schema] = {}
    for name in dict.fromkeys(key.group or key.word for key in KEYS.values()):
        fields[name] = value_of(KEYS[name]) if name in KEYS else _group(name)
    return {
        "$schema": DRAFT,
        "title": "cutworthy profile",
        "description": "How a board is made: tool, blank, drills, limits",
        **closed({**fields, "nets": nets(), "severity": severities()}),
        "allOf": list(_conditions()),
        "definitions": definitions(),
    }


def _group(name: str) -> Schema:
    return closed({key.word: value_of(key) for key in KEYS.values() if key.group == name})


def value_of(key: Key) -> Schema:
    """What may stand at a key: a value, or a map of it and its source."""
    schema: Schema = {"description": f"{key.meaning[:1].upper()}{key.meaning[1:]}{_asked(key)}"}
    match key.kind:
        case Kind.TEXT if key.name == "based_on":
            return {**schema, **named_profile()}
        case Kind.TEXT:
            return {**schema, **WORDS}
        case Kind.CHOICE:
            return {**schema, **one_of(key.choices)}
        case Kind.DATE:
            return {**schema, **day()}
    none = [NULL, one_of(["none", "null"])] if key.may_be_none else []
    forms, maps = _forms(key)
    values = [*forms, *none]
    maps = [{"value": {"anyOf": values}}, *maps]
    written = [closed({**one, "source": defined("words")}, one) for one in maps]
    return {**schema, "anyOf": [*values, *written]}


def _asked(key: Key) -> str:
    low, high = key.plausible
    if key.kind in (Kind.TEXT, Kind.CHOICE):
        return ""
    if key.kind is Kind.DATE:
        return f": {key.expected}"
    shown = key.measure.bare or next(iter(key.measure.units))
    scale = key.measure.units[shown]
    unit = "" if key.kind is Kind.COUNT else f" {shown}"
    return f": {key.expected}, {low / scale:g} to {high / scale:g}{unit}"


def _forms(key: Key) -> tuple[list[Schema], list[dict[str, Schema]]]:
    """The short forms of a value, and the maps beside the one of value and source."""
    low, high = key.plausible
    text = defined(_name(key.measure.units))
    one = {"anyOf": [within(low, high), text]}
    match key.kind:
        case Kind.COUNT:
            number = {"type": "integer", "minimum": low, "maximum": high}
            return [number, fitting("[0-9]{1,4}")], []
        case Kind.LENGTHS:
            return [one, {**listed(one), "minItems": 1, "maxItems": LONGEST_LIST}], []
        case Kind.SIZE:
            return [listed(one, 2)], []
        case Kind.SPREAD | Kind.FOIL:
            spread = defined(f"{_name(key.measure.units)}_and_spread")
            end = {"anyOf": [within(0, 2 * high), text]}
            deviation = {"anyOf": [{**NUMBER, "minimum": 0}, text]}
            maps: list[dict[str, Schema]] = [
                {"value": one, "sd": deviation},
                {"least": end, "nominal": end, "most": end},
            ]
            return [spread] if key.spread_required else [one, spread], maps
    return [one], []


_QUANTITIES = {
    "length": units.LENGTH,
    "foil": units.FOIL,
    "angle": units.ANGLE,
    "area": units.AREA,
    "feed": units.FEED,
    "turns": units.TURNS,
    "way": units.WAY,
    "time": units.TIME,
    "share": units.SHARE,
    "rise": units.RISE,
    "current": CURRENT,
}


def named_profile() -> Schema:
    """The name of a built-in profile, or a path."""
    files = {"type": "string", "pattern": r"[/\\]|\.[yY][aA]?[mM][lL]\s*$|^_"}
    return {"anyOf": [one_of(profile_names()), files]}


def day() -> Schema:
    """A date as ISO 8601 has it."""
    return fitting("[0-9]{4}-[0-9]{2}-[0-9]{2}")


def definitions() -> dict[str, Schema]:
    """The texts of quantities, each written once."""
    found = {name: fitting(quantity(known)) for name, known in _QUANTITIES.items()}
    for name in ("length", "foil"):
        value = quantity(_QUANTITIES[name])
        spread = rf"{_SIGN}\s*(?:{value}|{_NOT_NEGATIVE}\s*%)"
        found[f"{name}_and_spread"] = fitting(rf"{value}\s*{spread}")
    return {**found, "words": WORDS}


def _name(known: Mapping[str, float]) -> str:
    return next(name for name, one in _QUANTITIES.items() if one is known)


def defined(name: str) -> Schema:
    """One of the definitions, by name."""
    return {"$ref": f"#/definitions/{name}"}


def quantity(known: Iterable[str]) -> str:
    """A pattern of a number with or without one of the units."""
    longest_first = sorted(filter(None, known), key=len, reverse=True)
    return rf"{_NOT_NEGATIVE}\s*(?:{'|'.join(longest_first)})?"


def fitting(pattern: str) -> Schema:
    """A text that a pattern fits as a whole."""
    return {"type": "string", "pattern": rf"^\s*(?:{pattern})\s*$"}


def nets() -> Schema:
    """The group of voltages and currents."""
    kinds = "|".join("".join(f"[{c.upper()}{c}]" for c in word) for word in ("ac", "dc"))
    peaks = "|".join("".join(f"[{c.upper()}{c}]" for c in word) for word in ("peak", "pk", "rms"))
    volts = rf"-?{quantity(VOLTAGE)}\s*(?:{peaks})?\s*(?:{kinds})?"
    voltage = {"anyOf": [within(-HIGHEST, HIGHEST), fitting(volts)]}
    parts: dict[str, Schema] = {
        "voltage": {
            "description": "Against the common ground: 12 V, 230 V ac, 325 V pk",
            **voltage,
        },
        "current": {"anyOf": [within(0, STRONGEST), defined("current")]},
        "cleared": {"anyOf": [within(*CLEARED), defined("length")]},
    }
    net = {"anyOf": [voltage, {**closed(parts), "minProperties": 1}]}
    return {
        "description": _FREE["nets"],
        "type": "object",
        "additionalProperties": net,
        "maxProperties": MOST_NETS,
    }


def severities() -> Schema:
    """The group of what rules weigh."""
    return {
        "description": _FREE["severity"],
        "type": "object",
        "patternProperties": {f"^{RULE_NAME}$": one_of(SEVERITIES)},
        "additionalProperties": False,
    }


def _conditions() -> Iterable[Schema]:
    """What a method or a shape forbids and, where nothing else is laid under it, asks for."""
    alone = {"not": {"required": ["based_on"]}}
    yield {"if": alone, "then": {"required": ["method"]}}
    for method in METHODS:
        said = {"properties": {"method": {"const": method}}, "required": ["method"]}
        foreign = [key for key in KEYS.values() if method not in key.methods]
        yield {"if": said, "then": _at(foreign, False)}
        if method in SHAPES_OF:
            shapes = {"properties": {"bit": {"properties": {"shape": one_of(SHAPES_OF[method])}}}}
            yield {"if": said, "then": shapes}
        needed = [k for k in KEYS.values() if k.required and k.applies(method, None)]
        yield {"if": {"allOf": [said, alone]}, "then": _at(needed, True)}
    for shape in dict.fromkeys(shape for shapes in SHAPES_OF.values() for shape in shapes):
        inner = {"properties": {"shape": {"const": shape}}, "required": ["shape"]}
        said = {"properties": {"bit": inner}, "required": ["bit"]}
        foreign = [key for key in KEYS.values() if key.shapes and shape not in key.shapes]
        yield {"if": said, "then": _at(foreign, False)}
        needed = [key for key in KEYS.values() if key.required and shape in key.shapes]
        yield {"if": {"allOf": [said, alone]}, "then": _at(needed, True)}


def _at(keys: Iterable[Key], wanted: bool) -> Schema:
    """A schema that asks for keys, or refuses them."""
    margin: Schema = {"properties": {}}
    groups: dict[str, Schema] = {"": margin}
    for key in keys:
        if key.group not in groups:
            groups[key.group] = margin["properties"][key.group] = {"properties": {}}
            if wanted:
                margin.setdefault("required", []).append(key.group)
        home = groups[key.group]
        if wanted:
            home.setdefault("required", []).append(key.word)
        else:
            home["properties"][key.word] = False
    return margin
