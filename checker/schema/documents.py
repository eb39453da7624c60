"""The schemas of the documents that `checker.report` writes; lengths are in mm, unless said.

Each function describes what the function of the same name in `checker.report.json`,
`facts_document`, `comparison_json` or `limits_document` writes.
"""

from __future__ import annotations

from checker.findings import State, Verdict
from checker.process.keys import KEYS, SEVERITIES, Key, Kind
from checker.schema.parts import (
    COUNT,
    DRAFT,
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
_SIDE = {"type": "string", "pattern": "^(top|bottom|inner ?[0-9]+)$"}
_NETS = listed(TEXT)
_POINT = listed(NUMBER, 2)
_ENDS = record(least=NUMBER, nominal=NUMBER, most=NUMBER)
_UNCHECKED = record(what=TEXT, why=TEXT)
_WEIGHT = {"severity": one_of(SEVERITIES), "state": one_of(State)}
_WINDOW = maybe(
    record(
        shallowest_mm=_LENGTH,
        deepest_mm=_LENGTH,
        empty=FLAG,
        best_mm=_LENGTH,
        flatness_mm=_LENGTH,
        tightest_gap_mm=_LENGTH,
        gaps_that_tight=FLAG,
    )
)
_NOTE = record(file=TEXT, line=COUNT, text=TEXT)
_BOARD = record(
    name=TEXT,
    sources=listed(record(file=TEXT, role=TEXT)),
    size_mm=listed(NUMBER, 2),
    layers=listed(record(side=_SIDE, islands=COUNT, copper_mm2=NUMBER, nets=COUNT)),
    holes=COUNT,
    slots=COUNT,
    nets_from=TEXT,
    notes=listed(_NOTE),
)
_CAUSE = record(cause=TEXT, rule=TEXT, count=COUNT, remedy=TEXT, **_WEIGHT)


def report_schema() -> Schema:
    """``check --format json``: one report, or several in a list."""
    finding = {
        "id": TEXT,
        "rule": TEXT,
        **_WEIGHT,
        "side": maybe(_SIDE),
        "x_mm": _LENGTH,
        "y_mm": _LENGTH,
        "measured_mm": _LENGTH,
        "limit_mm": _LENGTH,
        "nets": _NETS,
        "pins": listed(TEXT),
        "message": TEXT,
        "remedy": TEXT,
        "cause": TEXT,
    }
    accepted = record(**finding, waived=FLAG, why=TEXT, where=TEXT, until=maybe(TEXT))
    one = document(
        "cutworthy.report/1",
        "The answer for one board and one process",
        ("accepted", "stale", "worse_than_known", "relief", "drawer"),
        board=_BOARD,
        profile=resolved_profile(),
        verdict=one_of(Verdict),
        depth_window=_WINDOW,
        findings=listed(record(**finding)),
        causes=listed(_CAUSE),
        joined=listed(record(side={"anyOf": [_SIDE, {"const": "all sides"}]}, nets=_NETS)),
        unchecked=listed(_UNCHECKED),
        counts=mapped(COUNT),
        accepted=listed(accepted),
        stale=listed(_NOTE),
        worse_than_known=listed(TEXT),
        relief=record(opened=COUNT, shut=COUNT),
        drawer=listed(TEXT),
    )
    del one["$schema"]
    single = {"$ref": "#/definitions/report"}
    several = record(schema={"const": "cutworthy.reports/1"}, reports=listed(single))
    is_several = {"properties": {"schema": {"const": "cutworthy.reports/1"}}}
    return {
        "$schema": DRAFT,
        "title": "cutworthy.report/1 or cutworthy.reports/1",
        "definitions": {"report": one, "reports": several},
        "if": {**is_several, "required": ["schema"]},
        "then": {"$ref": "#/definitions/reports"},
        "else": single,
    }


def facts_schema() -> Schema:
    """``measure --format json``."""
    island = COUNT
    place = {"x_mm": NUMBER, "y_mm": NUMBER}
    return document(
        "cutworthy.facts/1",
        "What was measured of a board",
        board=_BOARD,
        islands=listed(
            record(
                id=island,
                side=_SIDE,
                area_mm2=NUMBER,
                point_mm=_POINT,
                net=maybe(TEXT),
                net_number={"type": "integer"},
            )
        ),
        gaps=listed(
            record(
                side=_SIDE,
                islands=listed(island, 2),
                nets=listed(maybe(TEXT), 2),
                pins=listed(maybe(TEXT), 2),
                **place,
                distance_mm=NUMBER,
                widest_cut_mm=_LENGTH,
            )
        ),
        necks=listed(
            record(
                side=_SIDE, island=island, **place, width_mm=NUMBER, length_mm=NUMBER, carries=FLAG
            )
        ),
        holes=listed(
            record(
                **place,
                diameter_mm=NUMBER,
                plated=maybe(FLAG),
                path_mm=maybe(listed(_POINT)),
                rings=record(top=_LENGTH, bottom=_LENGTH),
                web_mm=_LENGTH,
                edge_mm=_LENGTH,
            )
        ),
        edges=listed(record(side=_SIDE, island=island, **place, distance_mm=NUMBER)),
        reach_mm=NUMBER,
        copper_reach_mm=NUMBER,
        web_reach_mm=NUMBER,
        edge_reach_mm=NUMBER,
        unchecked=listed(_UNCHECKED),
        not_measured=listed(TEXT),
    )


def comparison_schema() -> Schema:
    """``compare --format json``."""
    left = record(drawn_mm2=NUMBER, eaten_mm2=NUMBER, thinnest_mm=_LENGTH, thinnest_at_least=FLAG)
    tool = record(tool=TEXT, cut_m=_LENGTH, holes=maybe(COUNT), minutes=_LENGTH, tips_worn=_LENGTH)
    spoiler = record(what=TEXT, share=NUMBER, side=_SIDE, x_mm=NUMBER, y_mm=NUMBER)
    unknown = record(share={"type": "null"}, why=TEXT)
    odds = record(
        share=NUMBER,
        standard_error=NUMBER,
        draws=COUNT,
        spoilers=listed(spoiler),
        assumed=listed(TEXT),
    )
    row = record(
        name=TEXT,
        verdict=one_of(Verdict),
        closed_gaps=COUNT,
        closed_gaps_at_least=FLAG,
        margin_mm=_LENGTH,
        margin_at_least=FLAG,
        depth_window=_WINDOW,
        left=maybe(left),
        causes=listed(_CAUSE),
        only_gaps_judged=FLAG,
        changes=listed(
            record(
                what=one_of(("depth", "bed", "bit", "layout")),
                text=TEXT,
                clears=maybe(COUNT),
                verdict=maybe(one_of(Verdict)),
            )
        ),
        work=record(
            tools=listed(tool),
            by_hand=listed(record(what=TEXT, count=COUNT, minutes=_LENGTH)),
            machine_minutes=_LENGTH,
            hand_minutes=_LENGTH,
            not_estimated=listed(_UNCHECKED),
        ),
        odds=maybe({"anyOf": [odds, unknown]}),
        relief=maybe(record(opened=COUNT, shut=COUNT)),
        unchecked=listed(_UNCHECKED),
        profile=resolved_profile(),
    )
    pair = record(
        fine=TEXT,
        coarse=TEXT,
        fine_m=NUMBER,
        coarse_m=NUMBER,
        minutes=NUMBER,
        minutes_saved=NUMBER,
    )
    return document(
        "cutworthy.comparison/1",
        "Several processes on one board, best first",
        board=_BOARD,
        processes=listed(row),
        pair=maybe(pair),
    )


def limits_schema() -> Schema:
    """``reach --format json`` or ``yaml``."""
    found = listed(record(rule=TEXT, state=one_of(State), message=TEXT, remedy=TEXT))
    least = record(mm=_LENGTH, mil=maybe(COUNT), limited=FLAG)
    answer = {"least": least, "with_luck": least, "decided_by": listed(TEXT)}
    asked = record(("with_luck",), **answer, not_set=listed(TEXT))
    named = record(("with_luck",), name=TEXT, **answer, not_set=listed(TEXT))
    return document(
        "cutworthy.limits/1",
        "What a process can make",
        profile=resolved_profile(),
        notes=listed(TEXT),
        always=found,
        both_sides=found,
        lengths=listed(named),
        via=maybe(record(hole_mm=_LENGTH, hole_with_luck=FLAG, pad=asked)),
        no_via=found,
        leads=listed(record(name=TEXT, lead_mm=NUMBER, hole_mm=_LENGTH, source=TEXT, pad=asked)),
        traces_between_pins=listed(
            record(
                name=TEXT,
                pitch_mm=NUMBER,
                pad_mm=NUMBER,
                hole_mm=NUMBER,
                source=TEXT,
                traces=maybe(COUNT),
                traces_with_luck=maybe(COUNT),
            )
        ),
        lands=listed(
            record(
                family=TEXT,
                pitch_mm=_LENGTH,
                pad_mm=listed(NUMBER, 2),
                round=FLAG,
                hole_mm=_LENGTH,
                gap_mm=NUMBER,
                across_mm=_LENGTH,
                verdict=one_of(Verdict),
                wanted_mm=_LENGTH,
                decided_by=listed(TEXT),
                source=TEXT,
            )
        ),
        largest_board_mm=maybe(listed(NUMBER, 2)),
        not_set=listed(TEXT),
    )


def resolved_profile() -> Schema:
    """The resolved profile: from the table of keys, every key in its unit, mm unless said."""
    rating = record(("voltage", "current", "cleared"), voltage=TEXT, current=TEXT, cleared=TEXT)
    head = {
        "name": TEXT,
        "method": _resolved(KEYS["method"]),
        "cut_width_mm": maybe(_ENDS),
        "cut_width_rss_mm": maybe(_ENDS),
        "foot_width_mm": maybe(_ENDS),
        "cut_width_measured": FLAG,
        "spread_known": FLAG,
    }
    keys = [key for key in KEYS.values() if key.name not in ("based_on", *head)]
    margin = {key.word: _resolved(key) for key in keys if not key.group}
    groups: dict[str, dict[str, Schema]] = {}
    for key in keys:
        if key.group:
            groups.setdefault(key.group, {})[key.word] = _resolved(key)
    maps = {name: record(words, **words) for name, words in groups.items()}
    free = {"nets": mapped(rating), "severity": mapped(one_of(SEVERITIES))}
    return record(
        (*margin, *maps, *free), **head, **margin, **maps, **free, limits_from=mapped(TEXT)
    )


def _resolved(key: Key) -> Schema:
    match key.kind:
        case Kind.TEXT | Kind.DATE:
            return TEXT
        case Kind.CHOICE:
            return one_of(key.choices)
        case Kind.COUNT:
            return COUNT
        case Kind.SPREAD | Kind.FOIL:
            return _ENDS
        case Kind.LENGTHS | Kind.SIZE:
            return listed(NUMBER)
    return NUMBER
