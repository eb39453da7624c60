from __future__ import annotations

import re

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board, Kind
from checker.causes import levels_of, worst_of
from checker.engine import check
from checker.findings import State
from checker.measure import Reach, measure
from checker.process.bit import Spread
from checker.process.width import cut_width
from tests.handmade import (
    PLAIN,
    Copper,
    Gap,
    cone,
    cutting,
    exactly,
    facts,
    flat,
    layer,
    rule,
    seen,
    spread,
)

NAME = "uncuttable-gap"
WIDTH = st.floats(0.01, 1.0)
U1 = [Copper(Kind.PAD, net, "U1", pin) for net, pin in (("VCC", "3"), ("GND", "4"))]


@pytest.mark.parametrize(
    ("fits", "states"),
    [
        (0.1949, [State.NOT_MAKEABLE]),
        (0.1951, [State.MARGINAL]),
        (0.2, [State.MARGINAL]),
        (0.2049, [State.MARGINAL]),
        (0.2051, []),
    ],
    ids=["below", "just below", "exactly", "just above", "above"],
)
def test_within_the_error_of_drawing_a_gap_is_at_the_limit(
    fits: float, states: list[State]
) -> None:
    found = seen(NAME, facts([Gap(fits)], tolerance=0.001), cutting(0.2))

    assert [one.state for one in found] == states


def test_places_at_the_limit_are_one_cause_whatever_stands_there() -> None:
    pour = Copper(Kind.POUR, "GND")
    gaps = [Gap(0.199), Gap(0.201, a=pour, at=(3, 0)), Gap(0.2, 0.17, a=pour, b=pour, at=(6, 0))]

    found = seen(NAME, facts(gaps), cutting(0.2))

    assert {one.cause for one in found} == {"gaps right at the limit, too near to it to tell"}
    assert all("at the limit" in one.message for one in found)


def test_of_places_at_the_limit_the_narrowest_is_the_worst() -> None:
    found = seen(NAME, facts([Gap(0.204), Gap(0.199), Gap(0.2)], tolerance=0.001), cutting(0.2))

    assert worst_of(found, levels_of(["top"])).measured == 0.199
    assert [one.limit for one in found] == pytest.approx([0.205] * 3)  # what surely opens


def test_copper_of_one_net_never_needs_a_cut() -> None:
    one_net = Gap(0.01, a=Copper(net="GND"), b=Copper(net="GND"))

    assert seen(NAME, facts([one_net]), cutting(0.2)) == []


@given(st.lists(WIDTH, max_size=8), WIDTH, WIDTH)
def test_a_wider_cut_never_joins_fewer_gaps(fits: list[float], width: float, other: float) -> None:
    board = facts([Gap(one, at=(3.0 * i, 0.0)) for i, one in enumerate(fits)])
    narrow, wide = sorted((width, other))

    assert {one.x for one in seen(NAME, board, cutting(narrow))} <= {
        one.x for one in seen(NAME, board, cutting(wide))
    }


@given(st.lists(WIDTH, max_size=8), WIDTH, st.floats(0, 0.1))
def test_a_bite_never_joins_more_gaps(fits: list[float], width: float, bite: float) -> None:
    gaps = [Gap(one, at=(3.0 * i, 0.0)) for i, one in enumerate(fits)]
    board = facts(gaps, bites=sorted({0.0, bite}))

    assert {one.x for one in seen(NAME, board, cutting(width, bite=bite))} <= {
        one.x for one in seen(NAME, board, cutting(width))
    }


def test_two_round_pads_open_to_a_cut_wider_than_their_distance() -> None:
    # A disc of diameter w touches two discs of radius p from one side where its centre is
    # r = w/2 from both; from both sides such discs meet at w* = g + g^2 / (4 p), by the theorem
    # of Pythagoras alone.
    pad, gap = 1.0, 0.4
    fits = gap + gap**2 / (4 * pad)
    discs = [
        (Copper(), shapely.Point(x, 0).buffer(pad, quad_segs=64)) for x in (0.0, 2 * pad + gap)
    ]
    board = Board("discs", (), (layer("top", discs),))
    measured = measure(board, Reach(cut=0.6, copper=0.0))

    assert seen(NAME, measured, cutting(fits - 0.01)) == []
    assert [one.state for one in seen(NAME, measured, cutting(fits + 0.01))] == [State.NOT_MAKEABLE]


def test_the_message_names_both_sides_and_both_widths() -> None:
    board = facts([Gap(0.162, 0.15, a=U1[0], b=U1[1], at=(12.3, 4.5))])

    (found,) = seen(NAME, board, cutting(0.19))

    assert found.message == (
        "Gap 0.150 mm, where a cut of 0.162 mm passes, the bit cuts 0.190 mm: "
        "U1.3 (VCC) and U1.4 (GND) stay joined"
    )
    assert (found.nets, found.pins) == (("VCC", "GND"), ("U1.3", "U1.4"))
    assert (found.x, found.y, found.side) == (12.3, 4.5, "top")
    assert (found.measured, found.limit) == (0.162, 0.19)


def test_nets_joined_through_third_copper_are_counted() -> None:
    chain = [
        Gap(0.1, a=Copper(net=one), b=Copper(net=other), at=(3.0 * i, 0), side=side)
        for i, (one, other, side) in enumerate(
            [("A", "B", "top"), ("B", "C", "top"), ("C", "D", "bottom")]
        )
    ]

    found = seen(NAME, facts(chain), cutting(0.2))

    assert all(one.message.endswith(", 4 nets in one piece") for one in found)


def test_etching_speaks_of_no_tool_and_judges_the_distance() -> None:
    board = facts([Gap(0.3, 0.1)])

    (found,) = seen(NAME, board, cutting(0.15, method="etching"))

    assert not re.search(r"\b(bit|beam|cut|cuts)\b", found.message + found.remedy)
    assert found.measured == 0.1


def test_where_nothing_is_cut_no_gap_is_at_fault() -> None:
    assert list(rule(NAME).check(facts([Gap(0.01)]), replace(PLAIN, cut=None))) == []


def depth_of(remedy: str) -> float:
    (depth,) = re.findall(r"[Cc]ut at (\d+\.\d+) mm or less", remedy)
    return float(depth)


def test_cutting_at_the_depth_told_opens_the_gap_with_margin() -> None:
    mill = cone(spread(0.1, 0.01), 30, spread(0.12, 0.01), bed_error=0.01)
    board = facts([Gap(0.16)])
    (found,) = seen(NAME, board, mill)
    assert mill.bit is not None
    shallower = spread(depth_of(found.remedy), 0.01)
    bit = replace(mill.bit, depth=shallower)
    mended = replace(mill, bit=bit, cut=cut_width(bit, mill.bed_error))

    findings = [
        one for name in (NAME, "tight-gap", "uncut-foil") for one in seen(name, board, mended)
    ]

    assert findings == []


def test_no_depth_is_told_that_leaves_the_foil_uncut() -> None:
    # 0.10 + 2 z tan(15 deg) <= 0.11 needs z <= 0.0187 mm, and 1 oz foil is 0.035 mm thick.
    mill = cone(exactly(0.1), 30, exactly(0.1))

    (found,) = seen(NAME, facts([Gap(0.115)]), mill)

    assert "or less" not in found.remedy.replace("or finer", "")
    assert found.remedy.startswith("Use a bit of")


def test_a_sharper_bit_as_told_opens_the_gap() -> None:
    mill = cone(exactly(0.1), 60, exactly(0.1))
    board = facts([Gap(0.13)])
    (found,) = seen(NAME, board, mill)
    ((angle, depth),) = re.findall(r"a bit of (\d+)° or sharper.*?(\d\.\d+) mm deep", found.remedy)

    mended = cone(exactly(0.1), float(angle), exactly(float(depth)))

    assert seen(NAME, board, mended) == []
    assert seen("uncut-foil", board, mended) == []


def test_no_margin_is_promised_by_a_profile_without_spreads() -> None:
    board = facts([Gap(0.16)])
    (guessed,) = seen(NAME, board, cone(exactly(0.1), 30, exactly(0.12)))
    (known,) = seen(NAME, board, cone(spread(0.1, 0.01), 30, spread(0.12, 0.01)))

    assert guessed.remedy.startswith("Cut at 0.10 mm or less (without margin), or")
    assert "for margin" not in guessed.remedy
    assert re.match(r"Cut at 0\.0\d mm or less, or .* for margin\)", known.remedy)


def test_what_opens_a_gap_only_at_the_nominal_cut_says_so() -> None:
    mill = cone(spread(0.1, 0.05), 30, exactly(0.1))

    (found,) = seen(NAME, facts([Gap(0.13)]), mill)

    assert found.remedy.startswith("Cut at 0.04 mm or less (without margin), or move them")


@given(st.floats(0.05, 0.25), st.floats(0.2, 0.4), st.floats(0, 0.1))
def test_moving_copper_as_told_opens_the_gap_with_margin(
    fits: float, nominal: float, more: float
) -> None:
    process = cutting(nominal, nominal + more)
    for found in seen(NAME, facts([Gap(fits)]), process):
        lengths = [float(text) for text in re.findall(r"(\d+\.\d+) mm", found.remedy)]
        barely, surely = (facts([Gap(fits + lengths[i])]) for i in (0, -1))

        assert seen(NAME, barely, process) == []
        assert seen(NAME, surely, process) == seen("tight-gap", surely, process) == []


@pytest.mark.parametrize(
    ("a", "b", "remedy"),
    [
        (*U1, "Make pads 3 and 4 of U1 0.06 mm narrower each"),
        (Copper(), Copper(Kind.TRACE), "Move them 0.06 mm further apart"),
        (U1[0], Copper(Kind.TRACE, "CLK"), "Move the trace CLK 0.06 mm away"),
        (
            Copper(Kind.TRACE, "CLK"),
            Copper(Kind.TRACE, "DATA"),
            "Move the trace CLK or the trace DATA by 0.06 mm",
        ),
        (Copper(Kind.TRACE), Copper(Kind.POUR), "Raise the pour's clearance from 0.14 to 0.21 mm"),
        (Copper(None), Copper(None), "Move them 0.06 mm further apart"),
    ],
    ids=["pads of a part", "pad and trace", "pad and CLK", "traces", "trace and pour", "unknown"],
)
def test_the_layout_is_changed_where_its_writer_would(a: Copper, b: Copper, remedy: str) -> None:
    (found,) = seen(NAME, facts([Gap(0.145, a=a, b=b)]), cutting(0.2))

    assert found.remedy == remedy


def test_the_remedy_of_many_places_names_none_of_them() -> None:
    clk, data = Copper(Kind.TRACE, "CLK"), Copper(Kind.TRACE, "DATA")
    gaps = [Gap(0.145, a=clk, b=data), Gap(0.146, a=clk, b=data, at=(0, 5))]

    made = facts(gaps)
    (cause,) = check(made.board, cutting(0.2), {NAME: rule(NAME)}, made).causes

    assert cause.remedy == "Move them 0.06 mm further apart"


def test_an_end_mill_is_changed_for_a_narrower_one() -> None:
    (found,) = seen(NAME, facts([Gap(0.316)]), flat(0.4, exactly(0.1)))

    assert found.remedy == (
        "Use a bit of 0.31 mm or narrower (without margin), or move them 0.09 mm further apart"
    )


def test_a_place_without_a_name_is_told_by_the_nearest_name() -> None:
    named = Gap(1.0, a=U1[0], b=U1[1], at=(2.0, 0.0))
    board = facts([Gap(0.1, a=Copper(Kind.TRACE), b=Copper(Kind.TRACE)), named])

    (found,) = seen(NAME, board, cutting(0.2))

    assert found.message.endswith("two traces stay joined, near U1.3")


def test_the_limit_is_the_nominal_cut_not_its_least() -> None:
    board = facts([Gap(0.19)])
    process = replace(cutting(0.2), cut=Spread(0.1, 0.2, 0.3))

    assert len(seen(NAME, board, process)) == 1
