"""Voltages and currents of nets: the group ``nets`` of a profile, or of a board's own note.

``LIVE: 230 V ac`` or ``LIVE: {voltage: 230 V ac, current: 2 A, cleared: 3 mm}``. A voltage is
against the board's common ground. With ``ac`` it is the root mean square of a sine, whose peak is
higher by the square root of two; with ``pk`` it is the peak itself; else it is steady and may be
negative.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from checker.errors import ProfileError, nearest
from checker.process.units import LENGTH, Measure, read_quantity
from checker.remarks import Rating

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.process.nodes import Node

GROUP = "nets"
VOLTAGE: Mapping[str, float] = {"V": 1.0, "mV": 0.001, "kV": 1000.0}
CURRENT: Mapping[str, float] = {"A": 1.0, "mA": 0.001}

HIGHEST = 1000.0  # V: what the tables of creepage hold, and more than a home-made board should
STRONGEST = 35.0  # A: how far the fit of currents holds
MOST_NETS = 200  # nets: each is compared with each
CLEARED = (0.05, 20.0)  # mm, as for the process's own cleared width
_WORDS = re.compile(r"(?P<value>.*?)\s*(?P<peak>pk|peak|rms)?\s*(?P<kind>ac|dc)?", re.IGNORECASE)
_PARTS = ("voltage", "current", "cleared")
_EXPECTED = "a voltage such as 12 V, 230 V ac or 325 V pk"
_DECIMALS = 6


def read_ratings(nodes: Mapping[str, Node]) -> dict[str, Rating]:
    """Net name -> rating, from what stands under the group.

    Raises:
        ProfileError: a value that cannot be meant.
    """
    if len(nodes) > MOST_NETS:
        where = list(nodes.values())[MOST_NETS].where
        raise ProfileError(f"{where}: {GROUP}", f"{len(nodes)} nets", f"{MOST_NETS} at most")
    return {net: _rating(f"{GROUP}.{net}", node) for net, node in nodes.items()}


def spelled(ratings: Mapping[str, Rating]) -> dict[str, object]:
    """The group as plain values that read back to the same ratings; empty where there are none."""
    return {GROUP: {net: _spelled(one) for net, one in ratings.items()}} if ratings else {}


def _rating(name: str, node: Node) -> Rating:
    where = f"{node.where}: {name}"
    if isinstance(node.value, str):
        volts, alternating = _voltage(node.value, where)
        return Rating(volts, alternating, None, None, node.where)
    if isinstance(node.value, list):
        raise ProfileError(where, "a list", _EXPECTED)
    if not node.value:
        raise ProfileError(where, "says nothing", ", ".join(_PARTS))
    texts: dict[str, tuple[str, str]] = {}
    for word, part in node.value.items():
        at = f"{part.where}: {name}.{word}"
        if word not in _PARTS:
            raise ProfileError(at, "unknown key", advice=nearest(word, _PARTS))
        if not isinstance(part.value, str):
            raise ProfileError(at, "keys and values" if isinstance(part.value, dict) else "a list")
        texts[word] = part.value, at
    peak, alternating = _voltage(*texts["voltage"]) if "voltage" in texts else (None, False)

    def number(word: str, measure: Measure) -> float | None:
        text, at = texts.get(word, ("", ""))
        return read_quantity(text, measure, at) if at else None

    return Rating(
        peak,
        alternating,
        number("current", Measure(CURRENT, (0.0, STRONGEST))),
        number("cleared", Measure(LENGTH, CLEARED)),
        node.where,
    )


def _voltage(text: str, where: str) -> tuple[float, bool]:
    """Peak in volts, and whether it alternates."""
    words = " ".join(text.split())
    if not words:
        raise ProfileError(where, "nothing stands here", _EXPECTED)
    found = _WORDS.fullmatch(words)
    assert found is not None  # every part of the pattern may be empty
    peak, kind = (found["peak"] or "").lower(), (found["kind"] or "").lower()
    if kind == "dc" and peak:
        raise ProfileError(where, f"{words[:40]!r} is steady and has no {peak} value", _EXPECTED)
    alternating = kind == "ac" or bool(peak)
    crest = math.sqrt(2.0) if alternating and peak not in ("pk", "peak") else 1.0
    highest = HIGHEST if crest > 1 or not alternating else math.ceil(math.sqrt(2.0) * HIGHEST)
    measure = Measure(VOLTAGE, (0.0 if alternating else -highest, highest))
    return crest * read_quantity(found["value"], measure, where), alternating


def _spelled(rating: Rating) -> dict[str, object]:
    parts: dict[str, object] = {}
    if rating.volts is not None:
        peak = " pk" if rating.alternating else ""
        parts["voltage"] = f"{round(rating.volts, _DECIMALS):.10g} V{peak}"
    if rating.amperes is not None:
        parts["current"] = f"{round(rating.amperes, _DECIMALS):.10g} A"
    if rating.cleared is not None:
        parts["cleared"] = f"{round(rating.cleared, _DECIMALS):.10g} mm"
    return parts
