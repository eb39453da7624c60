"""The schema of what `checker.report.calibration_document` writes; lengths in mm."""

from __future__ import annotations

from checker.findings import Verdict
from checker.schema.documents import resolved_profile
from checker.schema.parts import (
    COUNT,
    FLAG,
    NUMBER,
    TEXT,
    Schema,
    document,
    listed,
    mapped,
    maybe,
    one_of,
    record,
)

_LENGTH = maybe(NUMBER)


def calibration_schema() -> Schema:
    """``calibrate --format json``."""
    interval = record(low=NUMBER, value=NUMBER, high=NUMBER, error=NUMBER, freedom=NUMBER)
    ends = {"least": NUMBER, "nominal": NUMBER, "most": NUMBER}
    comb = record(
        along=TEXT, drawn=NUMBER, good=COUNT, of=COUNT, least_share=NUMBER, most_share=NUMBER
    )
    return document(
        "cutworthy.calibration/1",
        "What a coupon says of a process",
        profile=resolved_profile(),
        measured=record(
            file=TEXT, coupon=maybe(TEXT), date=maybe(TEXT), bit=maybe(TEXT), cut_before_m=_LENGTH
        ),
        warnings=listed(TEXT),
        width_mm=record(
            depth=NUMBER,
            **ends,
            mean=interval,
            one_more=interval,
            setting=NUMBER,
            bed=NUMBER,
            directions=listed(NUMBER, 2),
        ),
        fit=record(
            slope_fitted=FLAG,
            slope=maybe(interval),
            tip_mm=maybe(interval),
            angle_deg=maybe(record(**ends)),
            residual_mm=NUMBER,
            between_places_mm=NUMBER,
            places=COUNT,
        ),
        readings=listed(record(depth=NUMBER, width=NUMBER, along=TEXT, place=TEXT, off=NUMBER)),
        directions=listed(record(along=TEXT, against=TEXT, wider=interval, differs=FLAG)),
        gaps=listed(comb),
        traces=listed(comb),
        registration=listed(
            record(axis=TEXT, targets=COUNT, mean=NUMBER, deviation=_LENGTH, most=NUMBER)
        ),
        backlash=mapped(NUMBER),
        serpentine=maybe(record(open=FLAG, ohm=_LENGTH)),
        settings=listed(record(key=TEXT, value=TEXT, why=TEXT)),
        kept=mapped(TEXT),
        boards=listed(
            record(
                name=TEXT,
                before=one_of(Verdict),
                after=one_of(Verdict),
                closed_before=COUNT,
                closed_after=COUNT,
                unchecked=listed(record(what=TEXT, why=TEXT)),
            )
        ),
    )
