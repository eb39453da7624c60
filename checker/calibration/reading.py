"""The file of measurements: YAML with a few groups, every fault one line with its place."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from checker.calibration.measurements import DIRECTIONS, Comb, Measurements, Reading
from checker.calibration.slips import refuse_slips
from checker.errors import MeasurementError, ProfileError, nearest
from checker.process.keys import Key, Kind
from checker.process.nodes import read_nodes
from checker.process.units import Measure, read_quantity
from checker.process.values import Plain, read_value

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from checker.process.nodes import Node

MOST = 500
"""Rows of a list that are read: bounds the work."""

_EXAMPLE = "grooves: [{depth: 0.1 mm, along: x, place: middle, width: 0.21 mm}]"
_OHM = Measure({"ohm": 1.0, "Ohm": 1.0, "mOhm": 0.001, "mohm": 0.001, "Ω": 1.0}, (1e-4, 1e5))
_BROKEN = "open"
_COUNTED = re.compile(r"([0-9]{1,3}) of ([0-9]{1,3})")
_PLACE = (-3.0, 3.0)  # mm, of one target against another

_KEYS = {
    key.name: key
    for key in (
        Key("coupon", Kind.TEXT, "profile that the coupon was made for"),
        Key("date", Kind.DATE, "when it was measured"),
        Key("bit", Kind.TEXT, "which bit"),
        Key("cut_before", Kind.WAY, "what the bit had cut before", (0, 10000)),
        Key("grooves.depth", Kind.LENGTH, "at which it was cut", (0.005, 2)),
        Key("grooves.along", Kind.CHOICE, "how the groove runs", choices=DIRECTIONS),
        Key("grooves.place", Kind.TEXT, "where on the coupon"),
        Key("grooves.width", Kind.LENGTH, "at the top edge of the copper", (0.01, 12)),
        Key("gaps", Kind.LENGTH, "drawn width", (0.02, 12)),
        Key("traces", Kind.LENGTH, "drawn width", (0.02, 12)),
        Key("registration.x", Kind.LENGTH, "bottom target against the top one", _PLACE),
        Key("registration.y", Kind.LENGTH, "bottom target against the top one", _PLACE),
        Key("backlash.x", Kind.LENGTH, "play of the axis", (0, 1)),
        Key("backlash.y", Kind.LENGTH, "play of the axis", (0, 1)),
    )
}
_GROUPS = ("grooves", "gaps", "traces", "registration", "backlash", "resistance")
_TOP = ("coupon", "date", "bit", "cut_before", *_GROUPS)


def read_measurements(path: Path) -> Measurements:
    """Read a file of measurements.

    Raises:
        MeasurementError: no such file, not YAML, or a value that cannot be meant.
    """
    shown = str(path)
    try:
        root = read_nodes(path, shown, what="a file of measurements", such_as=(_EXAMPLE, _EXAMPLE))
        return _measurements(root, shown)
    except ProfileError as fault:
        raise MeasurementError(*fault.args) from None


def _measurements(root: Mapping[str, Node], shown: str) -> Measurements:
    _must_be_known("", root, _TOP)
    if "grooves" not in root:
        raise MeasurementError(shown, "grooves is missing", "the widths of some", _EXAMPLE)
    rows = [_reading(row) for row in _rows("grooves", root)]
    readings = [row for row in rows if row is not None]
    refuse_slips([reading for reading, _ in readings], [text for _, text in readings])
    backlash = _map("backlash", root, ("x", "y"))
    return Measurements(
        source=shown,
        readings=tuple(reading for reading, _ in readings),
        coupon=_text("coupon", root),
        date=_text("date", root),
        bit=_text("bit", root),
        cut_before=_number("cut_before", root),
        gaps=tuple(_combs("gaps", root)),
        traces=tuple(_combs("traces", root)),
        registration=tuple(_targets(root)),
        backlash={
            axis: value
            for axis in backlash
            if (value := _number(axis, backlash, "backlash.")) is not None
        },
        resistance=_resistance(root),
    )


def _reading(row: Node) -> tuple[Reading, str] | None:
    """A reading and its width as written; None of a row without a width."""
    parts = _parts("grooves", row)
    _must_be_known("grooves", parts, ("depth", "along", "place", "width"))
    width = _number("width", parts, "grooves.")
    depth = _number("depth", parts, "grooves.")
    along = _text("along", parts, "grooves.")
    place = _text("place", parts, "grooves.")
    if width is None:
        return None
    node = parts["width"]
    text = str(node.value) if isinstance(node.value, str) else f"{width:g} mm"
    return Reading(depth or 0.0, width, along or "", place or "", node.where), " ".join(
        text.split()
    )


def _combs(name: str, root: Mapping[str, Node]) -> Iterator[Comb]:
    """Rows of a comb, narrowest first, direction by direction."""
    for along, node in _map(name, root, DIRECTIONS).items():
        if node.value == "":
            continue
        found: dict[float, Comb] = {}
        for text, counted in _parts(f"{name}.{along}", node).items():
            where = f"{counted.where}: {name}.{along}"
            drawn = read_quantity(text, _KEYS[name].measure, where)
            if counted.value == "":
                continue
            match = _COUNTED.fullmatch(str(counted.value).strip())
            good, of = map(int, match.groups()) if match else (0, 0)
            if not good <= of > 0:
                shown = repr(counted.value) if isinstance(counted.value, str) else "a list or map"
                expected = f"how many of how many {name}, such as 4 of 5"
                raise MeasurementError(f"{where}.{text}", shown[:60], expected)
            if drawn in found:
                raise MeasurementError(f"{where}.{text}", "is given a second time")
            found[drawn] = Comb(along, drawn, good, of)
        yield from (found[drawn] for drawn in sorted(found))


def _targets(root: Mapping[str, Node]) -> Iterator[tuple[float, float]]:
    for row in _rows("registration", root):
        parts = _parts("registration", row)
        _must_be_known("registration", parts, ("x", "y"))
        x, y = (_number(axis, parts, "registration.") for axis in ("x", "y"))
        if x is not None and y is not None:
            yield x, y
        elif (x is None) != (y is None):
            missing = "x" if x is None else "y"
            raise MeasurementError(f"{row.where}: registration", f"{missing} is missing", "x and y")


def _resistance(root: Mapping[str, Node]) -> float | None:
    node = root.get("resistance")
    if node is None or node.value == "":
        return None
    where = f"{node.where}: resistance"
    if not isinstance(node.value, str):
        raise MeasurementError(where, "keys and values or a list", "such as 0.35 ohm, or open")
    text = " ".join(node.value.split())
    return float("inf") if text == _BROKEN else read_quantity(text, _OHM, where)


def _rows(name: str, root: Mapping[str, Node]) -> list[Node]:
    node = root.get(name)
    if node is None or node.value == "":
        return []
    if not isinstance(node.value, list):
        raise MeasurementError(f"{node.where}: {name}", "is no list", "rows that begin with -")
    if len(node.value) > MOST:
        found = f"a list of {len(node.value)}"
        raise MeasurementError(f"{node.where}: {name}", found, f"{MOST} rows at most")
    return node.value


def _map(name: str, root: Mapping[str, Node], known: tuple[str, ...]) -> Mapping[str, Node]:
    node = root.get(name)
    if node is None or node.value == "":
        return {}
    parts = _parts(name, node)
    _must_be_known(name, parts, known)
    return parts


def _parts(name: str, node: Node) -> Mapping[str, Node]:
    if not isinstance(node.value, dict):
        raise MeasurementError(f"{node.where}: {name}", "holds no keys and values")
    if len(node.value) > MOST:
        found = f"{len(node.value)} keys"
        raise MeasurementError(f"{node.where}: {name}", found, f"{MOST} at most")
    return node.value


def _must_be_known(group: str, parts: Mapping[str, Node], known: tuple[str, ...]) -> None:
    for name, node in parts.items():
        if name not in known:
            where = f"{node.where}: {group}.{name}" if group else f"{node.where}: {name}"
            # In braces a decimal comma parts a number in two: {width: 0,2}.
            halved = name.partition(" ")[0].isdecimal()
            advice = "write a decimal point, such as 0.2 mm" if halved else nearest(name, known)
            raise MeasurementError(where, "unknown key", advice=advice)


def _value(name: str, parts: Mapping[str, Node], group: str) -> Plain:
    """The value of a key; None where it is not there or nothing stands there yet."""
    node = parts.get(name)
    if node is None or node.value == "":
        return None
    return read_value(_KEYS[group + name], node).value


def _text(name: str, parts: Mapping[str, Node], group: str = "") -> str | None:
    value = _value(name, parts, group)
    return None if value is None else str(value)


def _number(name: str, parts: Mapping[str, Node], group: str = "") -> float | None:
    value = _value(name, parts, group)
    return value if isinstance(value, float) else None
