"""Reports of every shape, drawn at random, and what is asked of one that was kept."""

from __future__ import annotations

from hypothesis import strategies as st

from checker.board import Note, Unchecked
from checker.depth import Span, Window
from checker.findings import Cause, Finding, Observation, Report, State, Verdict
from checker.process.model import Process
from checker.remarks import Origin
from checker.report import json, lines
from checker.report.judged import Judged
from checker.severity import Severity
from checker.summary import LayerSummary, Summary
from tests.built import built
from tests.report import made

PROCESS = made.process()
TEXTS = st.text(st.characters(exclude_categories=()), max_size=8)  # halves of letters too
REALS = st.floats()
WHOLES = st.integers(-(2**70), 2**70)
NAMES = st.lists(TEXTS, max_size=3).map(tuple)
UNCHECKED = st.lists(built(Unchecked, TEXTS, TEXTS), max_size=2).map(tuple)

_SEEN = built(
    Observation,
    TEXTS,
    TEXTS,
    TEXTS,
    st.sampled_from(State),
    *[st.none() | REALS] * 2,
    st.none() | TEXTS,
    *[st.none() | REALS] * 2,
    NAMES,
    NAMES,
    *[st.none() | TEXTS] * 2,
    st.booleans(),
)
_FINDINGS = st.lists(
    built(Finding, TEXTS, TEXTS, st.sampled_from(Severity), _SEEN),
    max_size=3,
    unique_by=lambda finding: finding.id,
).map(tuple)
_BOARD = built(
    Summary,
    TEXTS,
    st.lists(st.tuples(TEXTS, TEXTS), max_size=2).map(tuple),
    st.tuples(*[REALS] * 4),
    st.lists(built(LayerSummary, TEXTS, WHOLES, REALS, WHOLES), max_size=2).map(tuple),
    WHOLES,
    WHOLES,
    TEXTS,
    st.lists(built(Note, TEXTS, WHOLES, TEXTS), max_size=2).map(tuple),
)
_SPANS = built(Span, REALS, REALS)
_WINDOWS = built(Window, _SPANS, _SPANS, REALS, REALS, st.booleans())
Origins = dict[str, tuple[Origin, ...]]


@st.composite
def reports(draw: st.DrawFn) -> tuple[Report, Origins | None]:
    findings = draw(_FINDINGS)
    causes = built(
        Cause,
        TEXTS,
        TEXTS,
        st.sampled_from(Severity),
        st.sampled_from(State),
        TEXTS,
        st.lists(st.sampled_from(findings), min_size=1, max_size=3).map(tuple)
        if findings
        else st.nothing(),
    )
    report = Report(
        draw(_BOARD),
        PROCESS,
        draw(st.sampled_from(Verdict)),
        findings,
        draw(st.lists(causes, max_size=2).map(tuple)) if findings else (),
        draw(UNCHECKED),
        draw(st.lists(st.tuples(TEXTS, NAMES), max_size=2).map(tuple)),
        draw(st.dictionaries(TEXTS, WHOLES, max_size=2)),
        draw(st.none() | _WINDOWS),
        draw(st.dictionaries(TEXTS, UNCHECKED, max_size=2)),
        relief=draw(st.none() | st.tuples(WHOLES, WHOLES)),
    )
    places = st.lists(built(Origin, TEXTS, WHOLES, TEXTS), min_size=1, max_size=2).map(tuple)
    origins = st.fixed_dictionaries({finding.id: places for finding in findings})
    return report, draw(st.none() | origins)


def report(process: Process = PROCESS) -> tuple[Report, Origins]:
    """One with something in every field."""
    seen = Observation(
        "Gap 0.25 mm", "move them", "close", State.MARGINAL, 0.25, 0.3, "top", 1.5, -2.0, ("GND",),
        ("U1.1",), "move all", "redraw", True,
    )  # fmt: skip
    finding = Finding("0123456789", "tight-gap", Severity.WARNING, seen)
    unseen = Unchecked("the mask", "no file")
    board = Summary(
        "tiny", (("top.gbr", "top"),), (0.0, 0.0, 2.25, 1.0), (LayerSummary("top", 2, 2.0, 2),),
        1, 1, "drawn connectivity", (Note("top.gbr", 3, "unknown code"),),
    )  # fmt: skip
    span = Span(0.08, float("inf"))
    whole = Report(
        board,
        process,
        Verdict.MARGINAL,
        (finding,),
        (Cause("close", "tight-gap", Severity.WARNING, State.MARGINAL, "move all", (finding,)),),
        (unseen,),
        (("top", ("GND", "VCC")),),
        {"rules": 2},
        Window(span, Span(0.07, 0.09), -0.001, 0.25, True),
        {"tight-gap": (), "small-pad": (unseen,)},
        relief=(3, 4),
    )
    return whole, {finding.id: (Origin("top.gbr", 7, "U1.1 (GND)"),)}


def told(report: Report) -> dict[str, str]:
    """Every field, spelled so that -0.0 is not 0.0 and NaN is NaN; maps in their order."""
    return {field: repr(getattr(report, field)) for field in report.__struct_fields__}


def documents(judged: Judged) -> tuple[str, str]:
    return json.dumps(json.report_document(judged.report)), lines.concise([judged])
