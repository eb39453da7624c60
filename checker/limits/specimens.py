"""Specimens: the smallest copper that asks one thing of a process, roomy in all else.

Each function takes the asked length in mm and gives what draws the specimen about x on a plan. What
a maker does not ask is larger than any limit that a profile may set (`checker.process.keys`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import shapely

from checker.limits.plan import LEAD, SURFACE, VIA
from checker.limits.sheet import EDGE

if TYPE_CHECKING:
    from checker.limits.plan import Plan
    from checker.limits.published import Land, Pins
    from checker.limits.sheet import Specimen

BROAD = 4.0  # copper wider than any minimum_trace
LONG = 25.0  # longer than any short_neck
_PART = "U"


def trace_of(width: float) -> Specimen:
    """A long trace between two pads."""

    def draw(plan: Plan, x: float, word: str) -> None:
        for y in (EDGE, EDGE + LONG + BROAD):
            plan.pad((x, y), (BROAD, BROAD), word)
        plan.trace(width, word, (x, EDGE), (x, EDGE + LONG + BROAD))

    return draw


def traces_apart(clearance: float) -> Specimen:
    """Two broad traces side by side."""

    def draw(plan: Plan, x: float, word: str) -> None:
        for end, net in ((-1, "a"), (1, "b")):
            at = x + end * (clearance + BROAD) / 2
            plan.trace(BROAD, word + net, (at, EDGE), (at, EDGE + LONG))

    return draw


def pads_apart(clearance: float) -> Specimen:
    """Two large pads of one part, to be soldered, side by side."""

    def draw(plan: Plan, x: float, word: str) -> None:
        for end, net in ((-1, "1"), (1, "2")):
            at = x + end * (clearance + BROAD) / 2
            plan.pad((at, EDGE + LONG / 2), (BROAD, BROAD), word + net, (_PART + word, net))

    return draw


def pads_at_pitch(pitch: float) -> Specimen:
    """Two long pads of a row, half a pitch wide each."""

    def draw(plan: Plan, x: float, word: str) -> None:
        _row(plan, (x, EDGE + LONG / 2), 2, pitch, (pitch / 2, LONG), word)

    return draw


def pour_apart(clearance: float) -> Specimen:
    """A pad to be soldered in a pour, whose edge keeps off all round."""

    def draw(plan: Plan, x: float, word: str) -> None:
        y = EDGE + LONG / 2
        pad: Any = shapely.box(x - BROAD / 2, y - BROAD / 2, x + BROAD / 2, y + BROAD / 2)
        area = pad.buffer(clearance + BROAD, join_style="mitre")
        plan.pad((x, y), (BROAD, BROAD), word + "1", (_PART + word, "1"))
        plan.pour(area.difference(pad.buffer(clearance, join_style="mitre")), word + "pour")

    return draw


def copper_to_edge(distance: float) -> Specimen:
    """A broad trace along the edge."""

    def draw(plan: Plan, x: float, word: str) -> None:
        y = distance + BROAD / 2
        plan.trace(BROAD, word, (x - LONG / 4, y), (x + LONG / 4, y))

    return draw


def hole_to_edge(drill: float, distance: float) -> Specimen:
    """A bare hole near the edge, and a pad that makes the sheet one of copper."""

    def draw(plan: Plan, x: float, word: str) -> None:
        plan.hole((x, distance + drill / 2), drill)

    return draw


def holes_apart(drill: float, web: float) -> Specimen:
    """Two bare holes."""

    def draw(plan: Plan, x: float, word: str) -> None:
        for end in (-1, 1):
            plan.hole((x + end * (web + drill) / 2, EDGE + LONG / 2), drill)

    return draw


def via_of(hole: float, pad: float) -> Specimen:
    """A via that a trace reaches on every side of the plan; its ring is that of a round pad."""

    def draw(plan: Plan, x: float, word: str) -> None:
        y = plan.size[1] / 2
        plan.pad((x, y), (pad, pad), word, function=VIA, hole=hole)
        plan.trace(min(BROAD, pad), word, (x, y), (x, y + LONG))

    return draw


def lead_of(hole: float, pad: float) -> Specimen:
    """A pad with a hole for a lead, and a trace that reaches it; its ring is as a round pad's."""

    def draw(plan: Plan, x: float, word: str) -> None:
        at = (x, EDGE)
        plan.pad(at, (pad, pad), word, (_PART + word, "1"), LEAD, hole)
        plan.trace(min(BROAD, pad), word, at, (x, EDGE + LONG))

    return draw


def between_pins(pins: Pins, count: int, width: float, clearance: float) -> Specimen | None:
    """Two pads of a row and traces between them, as close to each other as they may be.

    None where the traces and their clearances take more room than there is, so that nobody could
    draw them.
    """
    taken = count * width + max(count - 1, 0) * clearance
    left = (pins.pitch - pins.pad - taken) / 2
    if left <= 0:
        return None

    def draw(plan: Plan, x: float, word: str) -> None:
        y = EDGE + LONG / 2
        for end, number in ((-1, "1"), (1, "2")):
            at = (x + end * pins.pitch / 2, y)
            plan.pad(at, pins.pad, word + number, (_PART + word, number), LEAD, pins.hole)
        for trace in range(count):
            at_x = x - taken / 2 + width / 2 + trace * (width + clearance)
            net = f"{word}t{trace}"
            plan.trace(width, net, (at_x, y - LONG / 2), (at_x, y + LONG / 2))

    return draw


def land_of(land: Land) -> Specimen:
    """A land pattern as it is published."""

    def draw(plan: Plan, x: float, word: str) -> None:
        y, length = EDGE + LONG / 2, land.size[1]
        if land.pitch is None:
            for end, number in ((-1, "1"), (1, "2")):
                at = (x, y + end * (land.gap + length) / 2)
                plan.pad(at, land.pad, word + number, (_PART + word, number))
            return
        _row(plan, (x, y), land.count, land.pitch, land.pad, word, land.hole)
        if land.across is None:
            return
        facing = land.facing or land.size
        away = y + length / 2 + land.across + facing[1] / 2
        if land.facing is None:
            _row(plan, (x, away), land.count, land.pitch, land.pad, word, land.hole, land.count)
        else:
            number = str(land.count + 1)
            plan.pad((x, away), facing, f"{word}-{number}", (_PART + word, number))

    return draw


def with_lead(draw: Specimen) -> Specimen:
    """The same with one lead of another part: without leads nothing decides on perfboard."""

    def both(plan: Plan, x: float, word: str) -> None:
        draw(plan, x, word)
        plan.pad((x + EDGE, EDGE), 2.0, word + "lead", ("J" + word, "1"), LEAD, 0.8)

    return both


def roomy(plan: Plan, x: float, word: str) -> None:
    """What asks nothing: two large pads far apart."""
    for end, number in ((-1, "1"), (1, "2")):
        at = (x + end * plan.size[0] / 4, plan.size[1] / 2)
        plan.pad(at, (BROAD, BROAD), word + number, (_PART + number, "1"))


def both_sides(dowel: float) -> Specimen:
    """The same on both sides, with holes to line them up."""

    def draw(plan: Plan, x: float, word: str) -> None:
        roomy(plan, x, word)
        for end in (-1, 1):
            plan.hole((x + end * (plan.size[0] / 2 - EDGE / 2), plan.size[1] / 2), dowel)

    return draw


def blank(plan: Plan, x: float, word: str) -> None:
    """One small pad, on a board that may be as small as a machine."""
    plan.pad((x, plan.size[1] / 2), (1.0, 1.0), word, (_PART, "1"))


def _row(
    plan: Plan,
    middle: tuple[float, float],
    count: int,
    pitch: float,
    pad: tuple[float, float] | float,
    word: str,
    hole: float = 0.0,
    first: int = 0,
) -> None:
    for number in range(count):
        at = (middle[0] + (number - (count - 1) / 2) * pitch, middle[1])
        pin = str(first + number + 1)
        function = LEAD if hole else SURFACE
        plan.pad(at, pad, f"{word}-{pin}", (_PART + word, pin), function, hole)
