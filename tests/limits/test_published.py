"""The tables of land patterns, leads and pins are well-formed and agree with themselves."""

from __future__ import annotations

import pytest

from checker.errors import ProfileError
from checker.limits.published import Land, Lead, Pins, published, tables
from checker.process.nodes import parse_nodes

LANDS, LEADS, PINS = published().lands, published().leads, published().pins
ROW = "  - {family: F, pitch: 0.5, pad: [0.3, 1], gap: 0.2, source: S}"
WHOLE = f"lands:\n{ROW}\nleads: []\npins: []\n"


@pytest.mark.parametrize("land", LANDS, ids=lambda land: land.family)
def test_gap_is_what_pads_of_that_width_leave_at_that_pitch(land: Land) -> None:
    step = land.gap + land.size[0] if land.pitch is not None else None

    assert step is None or step == pytest.approx(land.pitch, abs=0.005)


@pytest.mark.parametrize(
    "land", [land for land in LANDS if land.hole], ids=lambda land: land.family
)
def test_pads_with_holes_are_round_and_leave_a_ring(land: Land) -> None:
    assert isinstance(land.pad, float)
    assert land.pad > land.hole


def test_the_families_of_the_trade_are_there() -> None:
    """The families that IPC-7351 and JEDEC name, and the connectors of every small board."""
    said = " ".join(land.family for land in LANDS)

    wanted = "USB-C QFN TQFP LQFP MSOP TSSOP SSOP SOIC SOT-23 SOT-223 DPAK 0402 0603 0805 1206 DIP"
    assert [family for family in wanted.split() if family not in said] == []


def test_every_row_names_a_source_and_no_two_have_one_name() -> None:
    rows: list[Land | Lead | Pins] = [*LANDS, *LEADS, *PINS]
    families = [land.family for land in LANDS]

    assert [row for row in rows if not row.source] == []
    assert len(set(families)) == len(families)


# IPC-2222: the hole is wider than the lead at its widest by 0.25, 0.20 or 0.15 mm (levels A to C);
# IPC-2221: the pad is wider than the hole by 0.1 mm and 0.60, 0.50 or 0.40 mm.
POST, DIP_LEAD = 0.905, 0.68  # mm: diagonal of a 0.64 mm post, widest lead of MS-011
LEVELS = {"A": (0.25, 0.60), "B": (0.20, 0.50), "C": (0.15, 0.40)}


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize(("family", "lead"), [("Header 2.54", POST), ("DIP", DIP_LEAD)])
def test_levels_are_those_of_the_standards(level: str, family: str, lead: float) -> None:
    land = next(land for land in LANDS if land.family == f"{family}, level {level}")
    wider, allowance = LEVELS[level]

    assert land.hole == pytest.approx(lead + wider, abs=0.0005)
    assert land.pad == pytest.approx(land.hole + 0.1 + allowance, abs=0.0005)


@pytest.mark.parametrize("lead", LEADS, ids=lambda lead: lead.name)
def test_a_lead_goes_into_its_hole(lead: Lead) -> None:
    assert lead.hole > lead.lead


def test_facing_pad_is_as_wide_as_the_row() -> None:
    text = WHOLE.replace("gap: 0.2", "gap: 0.2, across: 0.4, facing: pad, count: 5")

    (land,) = tables(parse_nodes(text, "t")).lands

    assert land.facing == pytest.approx((4 * 0.5 + 0.3, 1.0))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("gap: 0.2", "gap: wide", "t:2: no length; expected mm, above 0 and up to 20"),
        ("gap: 0.2", "gap: nan", "t:2: no length"),
        ("gap: 0.2", "gap: -1", "t:2: no length"),
        ("gap: 0.2", "gap: [0.2]", "t:2: no length"),
        ("[0.3, 1]", "[0.3, 1, 2]", "t:2: no size"),
        ("source: S", "sauce: S", "t:2: sauce: unknown key; did you mean source?"),
        (", source: S", "", "t:2: a row without source"),
        ("family: F", "family: ''", "t:2: no text"),
        ("source: S", "source: S, count: 99", "t:2: no count; expected 2 to 12"),
        ("source: S", "source: S, facing: sky", "t:2: no size"),
        ("leads: []", "leads: none", "t:3: leads: no list"),
        ("leads: []", "leads: [7]", "t:3: a row without keys"),
        ("pins: []\n", "", "holds no pins"),
    ],
)
def test_a_row_that_is_not_well_formed_is_told_with_its_line(old: str, new: str, said: str) -> None:
    text = WHOLE.replace(old, new, 1)

    with pytest.raises(ProfileError) as error:
        tables(parse_nodes(text, "t"))

    assert said in str(error.value)
