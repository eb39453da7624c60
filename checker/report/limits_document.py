"""What a process can make as one document, schema ``cutworthy.limits/1``, for JSON and YAML.

Lengths are mm unless the key ends in _mil (whole mils of 25.4 um). A length is null where nothing
limits it (``limited`` false) and where none that was asked passes (``limited`` true).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import yaml

from checker.limits.limits import unset
from checker.methods import ETCHING, LASER, PERFBOARD
from checker.report import words
from checker.report.json import number, profile_document

if TYPE_CHECKING:
    from collections.abc import Iterable

    from checker.findings import Finding
    from checker.limits import Judged, Limits, Via
    from checker.limits.asked import Answer, Least
    from checker.process.model import Process
    from checker.report.json import Document

_WIDTH = 100
_SPREAD = (
    "These limits hold for the spread of this profile, and for no other bit, depth, bed or machine"
)
_GUESSED = "The cut is worked out from the bit's figures: mill what coupon makes, and calibrate"
_ETCHED = (
    "Etching has no tool to fit between: a clearance is a distance, the same in a corner as along "
    "a straight, and no undrawn copper stays. Widths are to be drawn: the etchant takes {:.3f} mm "
    "off each edge, which is counted"
)
_BEAM = (
    "A beam out of focus is wider, and heat lifts fine copper: the widths hold in focus and on the "
    "laminate the profile names"
)
_WIRED = (
    "Nothing is isolated on perfboard: widths and clearances of copper, rings and vias do not "
    "apply. Parts with leads at 2.54 mm or a multiple of it go in, the holes are there already; "
    "fine pitches and surface pads want another method or an adapter"
)


def limits_document(limits: Limits) -> Document:
    """All that was asked of a process."""
    process, via = limits.process, limits.via
    return {
        "schema": "cutworthy.limits/1",
        "profile": profile_document(process),
        "notes": list(notes_of(process)),
        "always": _found(limits.always),
        "both_sides": _found(limits.both_sides),
        "lengths": [
            {"name": answer.question.name, **_answer(answer, limits)} for answer in limits.lengths
        ],
        "via": None if via is None else _via(via, limits),
        "no_via": _found(limits.no_via),
        "leads": [
            {
                "name": lead.name,
                "lead_mm": lead.lead,
                "hole_mm": lead.hole,
                "source": lead.source,
                "pad": _answer(pad, limits),
            }
            for lead, pad in limits.leads
        ],
        "traces_between_pins": [
            {
                "name": one.pins.name,
                "pitch_mm": one.pins.pitch,
                "pad_mm": one.pins.pad,
                "hole_mm": one.pins.hole,
                "source": one.pins.source,
                "traces": one.sure,
                "traces_with_luck": one.luck,
            }
            for one in limits.between
        ],
        "lands": [_land(one) for one in limits.lands],
        "largest_board_mm": None if limits.largest is None else list(limits.largest),
        "not_set": list(limits.unset),
    }


def yaml_text(document: Document) -> str:
    """The document as YAML, keys in their order; ASCII only, as `checker.report.json.dumps`."""
    return yaml.safe_dump(document, sort_keys=False, width=_WIDTH)


def _found(findings: Iterable[Finding]) -> list[Document]:
    return [
        {
            "rule": one.rule,
            "state": one.seen.state.value,
            "message": one.seen.message,
            "remedy": one.seen.remedy,
        }
        for one in findings
    ]


def _answer(answer: Answer, limits: Limits) -> Document:
    return {
        "least": _least(answer.sure),
        **({} if answer.luck is None else {"with_luck": _least(answer.luck)}),
        "decided_by": sorted({one.rule for one in answer.below}),
        "not_set": list(unset(limits.process, answer.question.keys)),
    }


def _least(least: Least) -> Document:
    return {
        "mm": None if least.free else least.mm,
        "mil": None if least.free else least.mil,
        "limited": not least.free,
    }


def _via(via: Via, limits: Limits) -> Document:
    return {
        "hole_mm": via.hole,
        "hole_with_luck": via.with_luck,
        "pad": _answer(via.pad, limits),
    }


def _land(one: Judged) -> Document:
    land = one.land
    return {
        "family": land.family,
        "pitch_mm": land.pitch,
        "pad_mm": list(land.size),
        "round": isinstance(land.pad, float),
        "hole_mm": land.hole or None,
        "gap_mm": land.gap,
        "across_mm": land.across,
        "verdict": one.verdict.value,
        "wanted_mm": number(one.wanted),
        "decided_by": one.decided_by,
        "source": land.source,
    }


def notes_of(process: Process) -> tuple[str, ...]:
    """What to mind about the limits, in sentences without their full stops."""
    if process.method == PERFBOARD or process.cut is None:
        return (_WIRED,)
    notes = [words.no_margin(process) or _SPREAD]
    if process.method == ETCHING:
        notes.append(_ETCHED.format(process.undercut))
    elif process.method == LASER:
        notes.append(_BEAM)
    if process.bit is not None and not process.measured:
        notes.append(_GUESSED)
    return tuple(notes)
