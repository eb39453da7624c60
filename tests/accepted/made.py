"""Findings and reports made by hand, without a board: what waivers and baselines look at."""

from __future__ import annotations

from hypothesis import strategies as st
from msgspec.structs import replace

from checker.causes import group
from checker.findings import Finding, Observation, Report, State, Verdict
from checker.severity import Severity
from checker.summary import LayerSummary, Summary
from tests.report.made import process

SOURCE = "door/.cutworthy-baseline.json"
RULE = "uncuttable-gap"


def finding(name: str = "a", **changes: object) -> Finding:
    """A gap of 0.25 mm, 0.05 mm short of its limit."""
    values: dict[str, object] = {
        "message": f"Gap {name}",
        "remedy": "widen it",
        "cause": "gap between pads",
        "state": State.NOT_MAKEABLE,
        "measured": 0.25,
        "limit": 0.3,
        "side": "top",
        "x": 10.0,
        "y": 20.0,
        "nets": ("GND", "VCC"),
        "pins": ("U1.1", "U1.2"),
    }
    rule = str(changes.pop("rule", RULE))
    severity = changes.pop("severity", Severity.ERROR)
    seen = Observation(**{**values, **changes})  # type: ignore[arg-type] # a test names real fields
    assert isinstance(severity, Severity)
    return Finding(name, rule, severity, seen)


def moved(one: Finding, dx: float, dy: float, name: str | None = None) -> Finding:
    """The same elsewhere; its id is another, as the engine makes it from the place."""
    assert one.seen.x is not None
    assert one.seen.y is not None
    seen = replace(one.seen, x=one.seen.x + dx, y=one.seen.y + dy)
    return Finding(name or f"{one.id}m", one.rule, one.severity, seen)


def board(
    left: float = 0.0, bottom: float = 0.0, width: float = 100.0, islands: int = 3
) -> Summary:
    return Summary(
        name="door",
        sources=(("top.gbr", "top"),),
        box=(left, bottom, left + width, bottom + 64.0),
        layers=(LayerSummary("top", islands, 10.0, 2),),
        holes=0,
        slots=0,
        nets_from="layer attributes",
        notes=(),
    )


def report(*findings: Finding, profile: str = "cone", **changes: object) -> Report:
    """A report on findings that the rules of all of them were asked for, as the engine makes it."""
    states = {one.seen.state for one in findings}
    verdict = Verdict.MARGINAL if State.MARGINAL in states else Verdict.MAKEABLE
    values: dict[str, object] = {
        "board": board(),
        "process": process(name=profile),
        "verdict": Verdict.NOT_MAKEABLE if State.NOT_MAKEABLE in states else verdict,
        "findings": findings,
        "causes": group(findings),
        "unchecked": (),
        "asked": dict.fromkeys((RULE, "tight-gap", "many-wires"), ()),
    }
    return Report(**{**values, **changes})  # type: ignore[arg-type] # as above


_PLACES = st.one_of(st.none(), st.tuples(st.floats(0, 50), st.floats(0, 50)))
_LENGTHS = st.one_of(st.none(), st.floats(0, 2))


@st.composite
def seen_anywhere(draw: st.DrawFn) -> Finding:
    """A finding of few rules, nets and sides, so that many are of one kind; the id is to come."""
    place = draw(_PLACES)
    return finding(
        rule=draw(st.sampled_from([RULE, "tight-gap"])),
        severity=draw(st.sampled_from(Severity)),
        state=draw(st.sampled_from(State)),
        side=draw(st.sampled_from(["top", "bottom", None])),
        nets=draw(st.sampled_from([(), ("GND",), ("GND", "VCC"), ("VCC", "GND")])),
        pins=draw(st.sampled_from([(), ("U1.1",)])),
        x=None if place is None else place[0],
        y=None if place is None else place[1],
        measured=draw(_LENGTHS),
        limit=draw(_LENGTHS),
    )


def numbered(findings: list[Finding], sign: str = "") -> tuple[Finding, ...]:
    """With an id each."""
    return tuple(replace(one, id=f"{sign}{i:04x}") for i, one in enumerate(findings))


FINDINGS = st.lists(seen_anywhere(), max_size=25).map(numbered)
OTHERS = st.lists(seen_anywhere(), max_size=25).map(lambda found: numbered(found, "f"))
