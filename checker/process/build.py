"""From the keys of a profile, wherever each was written, to a `Process`."""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import TYPE_CHECKING, TypeVar, cast

from msgspec import Struct

from checker.errors import ProfileError
from checker.process import width
from checker.process.bit import Bit, Spread
from checker.process.keys import KEYS, SEVERITIES, SHAPES_OF, Key, Kind
from checker.process.model import Process
from checker.process.ratings import GROUP, read_ratings, spelled
from checker.process.shop import (
    Drills,
    EdgeWork,
    Feeds,
    Hand,
    HoleGrid,
    Joints,
    Machine,
    Measured,
    Stock,
)
from checker.process.values import Plain, Value, read_value
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from checker.process.nodes import Node

_Group = TypeVar("_Group")
_ZERO = Spread(0.0, 0.0, 0.0)
_NANOMETRE = 6  # decimals of resolved values
_STEP = 0.01  # in which depths are set, mm
_ROUNDING = 1e-9


class _Values(Struct, frozen=True):
    """Values by key, the default where the profile is silent, typed on the way out."""

    read: Mapping[str, Value]

    def plain(self, name: str) -> Plain:
        return self.read[name].value if name in self.read else KEYS[name].default

    def spread(self, name: str) -> Spread | None:
        return cast("Spread | None", self.plain(name))

    def length(self, name: str) -> float | None:
        return cast("float | None", self.plain(name))

    def number(self, name: str) -> float:
        return cast("float", self.plain(name) or 0.0)

    def count(self, name: str) -> int | None:
        return cast("int | None", self.plain(name))

    def group(self, group: str, of: Callable[..., _Group]) -> _Group:
        """A record from the keys of a group, which its fields are named after."""
        return of(**{field: self.plain(key) for field, key in _fields(group)})


@cache
def _fields(group: str) -> tuple[tuple[str, str], ...]:
    """The fields of a group, and the key of each."""
    keys = (key for key in KEYS if key.startswith(group + "."))
    return tuple((key.rpartition(".")[2], key) for key in keys)


@lru_cache(maxsize=1024)
def _value_of(key: str, node: Node) -> Value:
    """What stands at a key; what several profiles take from one base is read once."""
    return read_value(KEYS[key], node)


def build(name: str, source: str, nodes: Mapping[str, Node], own: frozenset[str]) -> Process:
    """Read, check and assemble.

    Args:
        name: what the profile is called.
        source: its file, as people call it.
        nodes: every key by its path, those of the profiles it is based on included.
        own: the keys that its own file sets; one that doesn't apply is a fault only here.

    Raises:
        ProfileError: a value that cannot be meant, a key that is missing or doesn't apply.
    """
    method, shape = _method_and_shape(source, nodes)
    read: dict[str, Value] = {}
    for key in KEYS.values():
        if key.name in nodes and key.applies(method, shape):
            read[key.name] = _value_of(key.name, nodes[key.name])
        elif key.name in own:
            what = f"a {shape}" if shape and method in key.methods else method
            where = f"{nodes[key.name].where}: {key.name}"
            raise ProfileError(where, f"does not apply to {what}", advice="leave it out")
        elif key.required and key.applies(method, shape):
            raise _missing(source, key)
    severities = {
        key.removeprefix("severity."): read_severity(key, node)
        for key, node in nodes.items()
        if key.startswith("severity.")
    }
    nets = f"{GROUP}."
    ratings = read_ratings(
        {k.removeprefix(nets): n for k, n in nodes.items() if k.startswith(nets)}
    )
    values = _Values(read)
    bit = None if shape is None else _bit(shape, values)
    foil, bed_error = values.spread("foil") or _ZERO, values.number("bed_error")
    if bit is not None:
        _check_bit(bit, foil, bed_error, _Places(nodes, own))
    return Process(
        name=name,
        source=source,
        method=method,
        title=str(values.plain("title") or name),
        bit=bit,
        cut=width.cut_width(bit, bed_error) if bit else values.spread("minimum_gap"),
        measured=bit is not None and bit.measured_width is not None,
        foil=foil,
        bed_error=bed_error,
        minimum_trace=values.length("minimum_trace"),
        short_neck=values.number("short_neck"),
        pad_clearance=values.length("pad_clearance"),
        layer_count=int(values.number("layer_count")),
        bite=values.number("bite"),
        severity=_as_severities(severities),
        limits_from={key: value.source for key, value in read.items() if value.source},
        resolved=_resolved(method, shape, values, severities) | spelled(ratings),
        cut_rss=width.width_rss(bit, bed_error) if bit else values.spread("minimum_gap"),
        foot=width.foot_width(bit, foil, bed_error) if bit else None,
        places={key: node.where for key, node in nodes.items() if key in read or key not in KEYS},
        cleared_width=values.length("cleared_width"),
        undercut=values.number("undercut"),
        lettering=values.length("lettering"),
        smallest_leftover=values.length("smallest_leftover"),
        ring=values.length("ring"),
        web=values.length("web"),
        temperature_rise=values.length("temperature_rise"),
        legend_depth=values.length("legend.depth"),
        drills=values.group("drills", Drills),
        outline=values.group("outline", EdgeWork),
        machine=values.group("machine", Machine),
        stock=values.group("stock", Stock),
        joints=values.group("joints", Joints),
        feeds=values.group("feeds", Feeds),
        grid=values.group("grid", HoleGrid),
        hand=values.group("hand", Hand),
        measurement=values.group("measured", Measured),
        ratings=ratings,
    )


def _method_and_shape(source: str, nodes: Mapping[str, Node]) -> tuple[str, str | None]:
    method = _word(source, nodes, "method")
    if method not in SHAPES_OF:
        return method, None
    shape = _word(source, nodes, "bit.shape")
    if shape not in SHAPES_OF[method]:
        where, expected = f"{nodes['bit.shape'].where}: bit.shape", ", ".join(SHAPES_OF[method])
        raise ProfileError(where, f"{shape!r} is not for {method}", expected)
    return method, shape


def _word(source: str, nodes: Mapping[str, Node], name: str) -> str:
    if name not in nodes:
        raise _missing(source, KEYS[name])
    return str(read_value(KEYS[name], nodes[name]).value)


def _missing(source: str, key: Key) -> ProfileError:
    advice = "add it, or based_on: with the name of a built-in profile"
    return ProfileError(source, f"{key.name} is missing", key.expected, advice)


def read_severity(key: str, node: Node) -> str:
    """The word that stands at ``severity.<rule>``.

    Raises:
        ProfileError: it is no severity.
    """
    row = Key(key, Kind.CHOICE, "how much the rule's findings weigh", choices=SEVERITIES)
    return str(read_value(row, node).value)


def _bit(shape: str, values: _Values) -> Bit:
    size = {"cone": "bit.tip_width", "beam": "bit.spot"}.get(shape, "bit.diameter")
    tip = values.spread(size) or _ZERO
    return Bit(
        shape=shape,
        tip_width=tip,
        angle=values.number("bit.angle"),
        depth=values.spread("bit.depth") or _ZERO,
        diameter=(values.spread("bit.diameter") or tip).nominal,
        runout=values.spread("bit.runout") or _ZERO,
        overcut=values.spread("bit.overcut") or _ZERO,
        measured_width=values.spread("bit.measured_width"),
    )


class _Places(Struct, frozen=True):
    """Where keys are set, those of the profile's own file first."""

    nodes: Mapping[str, Node]
    own: frozenset[str]

    def first(self, *names: str) -> tuple[str, str]:
        """Of several keys that do not fit each other the one to change, and where it stands."""
        name = next((name for name in names if name in self.own), names[0])
        return name, f"{self.nodes[name].where}: {name}"


def _check_bit(bit: Bit, foil: Spread, bed_error: float, places: _Places) -> None:
    """Refuse values that are plausible each, and cannot be meant together."""
    if bit.shape == "beam":
        return
    tip, depth = bit.tip_width, bit.depth
    if bit.shape == "cone" and tip.most > bit.diameter:
        key, where = places.first("bit.diameter", "bit.tip_width")
        advice = "the diameter of a cone is that of its body"
        if key == "bit.diameter":
            found, expected = (
                f"{bit.diameter:g} mm is less than the tip",
                f"at least {tip.most:g} mm",
            )
        else:
            found, expected = (
                f"{tip.most:g} mm is wider than the bit",
                f"at most {bit.diameter:g} mm",
            )
        raise ProfileError(where, found, expected, advice)
    if depth.least <= 0 or depth.most >= 2 * depth.nominal:
        _, where = places.first("bit.depth")
        found = f"{depth.least:g} to {depth.most:g} mm spread as wide as the depth itself"
        raise ProfileError(where, found, f"a spread below {depth.nominal:g} mm")
    if depth.nominal < foil.nominal - _ROUNDING:
        key, where = places.first("bit.depth", "foil")
        beside = depth.nominal - depth.least + bed_error
        least = math.ceil((foil.most + beside) / _STEP - _ROUNDING) * _STEP
        if key == "foil":
            found = f"{foil.nominal:.3g} mm is thicker than the cut is deep, {depth.nominal:.3g} mm"
        else:
            found = f"{depth.nominal:.3g} mm does not go through the foil, {foil.nominal:.3g} mm"
        expected = f"bit.depth of {least:.2f} mm or more"
        counted = f"{foil.most:.3f} mm of foil at most, {beside:.3f} mm for bed and setting"
        raise ProfileError(where, found, expected, f"that counts {counted}")


def _as_severities(words: Mapping[str, str]) -> Mapping[str, Severity]:
    return {rule: Severity(word) for rule, word in words.items()}


def _resolved(
    method: str, shape: str | None, values: _Values, severities: Mapping[str, str]
) -> dict[str, object]:
    """Every key that applies, spelled out; groups as maps, lengths in mm."""
    document: dict[str, object] = {}
    for key in KEYS.values():
        if key.name == "based_on" or not key.applies(method, shape):
            continue
        value = values.plain(key.name)
        if value is None:
            continue
        group, _, word = key.name.rpartition(".")
        home = cast("dict[str, object]", document.setdefault(group, {})) if group else document
        home[word] = _spelled(value)
    if severities:
        document["severity"] = dict(severities)
    return document


def _spelled(value: Plain) -> object:
    match value:
        case Spread(least, nominal, most):
            return {
                "least": round(least, _NANOMETRE),
                "nominal": round(nominal, _NANOMETRE),
                "most": round(most, _NANOMETRE),
            }
        case float():
            return round(value, _NANOMETRE)
        case tuple():
            return [round(length, _NANOMETRE) for length in value]
    return value
