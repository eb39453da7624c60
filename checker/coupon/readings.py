"""The file of measurements that belongs to a coupon: its empty form, the names of its fields."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.methods import MILLING
from checker.report import words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.coupon.model import Coupon, Groove

FIELD = re.compile(r"<([a-z_]+(?:\.[a-z0-9]+)*)>")
"""A field in the text of `template`: its name in angle brackets."""

COMBS, AXES = ("gaps", "traces"), ("x", "y")
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9._-]*")


class Field(Struct, frozen=True):
    """A reading: the name of its field and what it is, for people."""

    name: str
    label: str


def fields(coupon: Coupon) -> tuple[Field, ...]:
    """One for each reading, in the order of the file."""
    return tuple(_fields(coupon))


def _fields(coupon: Coupon) -> Iterator[Field]:
    yield Field("date", "date of the measurement")
    if coupon.process.method == MILLING:
        yield Field("bit", "which bit")
        yield Field("cut_before", "metres that the bit had cut before")
    for number, groove in enumerate(coupon.grooves):
        label = f"width of the cut along {groove.along}, {groove.place}"
        yield Field(f"grooves.{number}", f"{label}, {groove.depth:.2f} mm deep")
    for comb, what in (("gaps", "open gaps"), ("traces", "surviving traces")):
        for axis in AXES:
            for number, width in enumerate(widths_of(coupon, comb)):
                yield Field(f"{comb}.{axis}.{number}", f"{what} across {axis}, {width:.2f} mm")
    for number in range(coupon.targets):
        for axis in AXES:
            yield Field(f"registration.{number}.{axis}", f"target {number + 1}, offset in {axis}")
    if coupon.vernier_step is not None:
        yield from (Field(f"backlash.{axis}", f"backlash in {axis}") for axis in AXES)
    if coupon.meander is not None:
        yield Field("resistance", "resistance of the serpentine")


def widths_of(coupon: Coupon, comb: str) -> tuple[float, ...]:
    """The widths of the combs of gaps or of traces."""
    return coupon.gaps if comb == "gaps" else coupon.traces


def measurements(coupon: Coupon) -> str:
    """The file with nothing filled in."""
    return re.sub(r" +$", "", FIELD.sub("", template(coupon)), flags=re.MULTILINE)


def template(coupon: Coupon) -> str:
    """The file with the name of a field, in angle brackets, wherever a value belongs."""
    return "\n".join([*_lines(coupon), ""])


def _lines(coupon: Coupon) -> Iterator[str]:
    name = words.plain(coupon.process.name)
    yield "# What was measured on a coupon: fill in what you read, leave the rest empty."
    yield "# Lengths are in mm unless you write a unit behind them: mm, um, mil, in."
    yield f"coupon: {name if _PLAIN.fullmatch(name) else json.dumps(name)}"
    yield "date: <date>"
    if coupon.process.method == MILLING:
        yield "bit: <bit>"
        yield "cut_before: <cut_before>"
    if coupon.grooves:
        yield "# Width at the top edge of the copper. Write a row again for a second reading."
        yield "grooves:"
        yield from (_groove(number, groove) for number, groove in enumerate(coupon.grooves))
    else:
        yield "grooves: []"
    yield "# Of the five gaps of a width, how many are open: 4 of 5. x is measured along x."
    yield from _combs(coupon, "gaps")
    if coupon.traces:
        yield "# Of the five traces of a width, how many survived: 4 of 5."
        yield from _combs(coupon, "traces")
    if coupon.targets:
        yield "# Where the target of the bottom lies against that of the top, seen from the top."
        yield "registration:"
        for number in range(coupon.targets):
            yield f"  - {{x: <registration.{number}.x>, y: <registration.{number}.y>}}"
    if coupon.vernier_step is not None:
        yield "# As read from the verniers, without sign."
        yield "backlash: {x: <backlash.x>, y: <backlash.y>}"
    if coupon.meander is not None:
        yield "# Of the serpentine, in ohm or mOhm."
        yield "resistance: <resistance>"


def _groove(number: int, groove: Groove) -> str:
    depth = f"depth: {groove.depth:.2f} mm, " if groove.depth else ""  # a beam is set to none
    row = f"{depth}along: {groove.along}, place: {groove.place}, width: <grooves.{number}>"
    return f"  - {{{row}}}"


def _combs(coupon: Coupon, comb: str) -> Iterator[str]:
    yield f"{comb}:"
    for axis in AXES:
        row = ", ".join(
            f"{width:.2f} mm: <{comb}.{axis}.{number}>"
            for number, width in enumerate(widths_of(coupon, comb))
        )
        yield f"  {axis}: {{{row}}}"
