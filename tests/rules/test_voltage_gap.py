from __future__ import annotations

from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.bit import Spread
from checker.process.model import Process
from checker.process.width import foot_width
from checker.read import read_board
from tests.handmade import PLAIN, cone, exactly, seen, spread
from tests.holed import unchecked
from tests.rated import Net, mains, rated, steady

if TYPE_CHECKING:
    from checker.board import Rating
    from checker.measure import Facts

NAME = "voltage-gap"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
NO_RATING = "no net has a voltage or a current: a board note or the profile can name them"


def two(
    apart: float,
    one: Rating | None = None,
    other: Rating | None = None,
    *,
    pads: bool = False,
    size: tuple[float, float, float, float] | None = None,
) -> Facts:
    """Two nets A and B whose copper is that far apart, as two tracks or two pads."""
    ratings = {name: r for name, r in (("A", one), ("B", other)) if r is not None}
    if pads:
        nets = [Net("A", [(0, 0, 2)]), Net("B", [(2 + apart, 0, 2)])]
    else:
        nets = [
            Net(name, tracks=[(1.0, [(x, 0), (x, 10)])]) for name, x in (("A", 0), ("B", 1 + apart))
        ]
    return rated(nets, ratings, size=size)


@pytest.mark.parametrize(
    ("one", "other", "limit", "state"),
    [
        # IPC-2221, table 6-1, B2: up to 30 V 0.1, up to 150 V 0.6, up to 300 V 1.25.
        (steady(12), None, 0.1, State.MARGINAL),
        (steady(48), None, 0.6, State.MARGINAL),
        (steady(15), steady(-15), 0.1, State.MARGINAL),
        (steady(24), steady(-24), 0.6, State.MARGINAL),
        # IEC 60664-1, table F.4, group III: 230 V lies at 2.3, twice that is reinforced; among
        # mains nets B2 asks for more than basic creepage, 2.5 mm from 301 V peak.
        (mains(230), None, 4.6, State.NOT_MAKEABLE),
        (mains(230), mains(230), 2.5, State.NOT_MAKEABLE),
        (mains(110), None, 2 * (1.4 + 0.1 * 10 / 25), State.NOT_MAKEABLE),
        (mains(500), mains(500), 5.0, State.NOT_MAKEABLE),
        (steady(100), None, 2.8, State.NOT_MAKEABLE),
    ],
)
@pytest.mark.parametrize(("off", "caught"), [(-0.02, True), (-0.004, False), (0.01, False)])
def test_limit_is_that_of_the_tables(
    one: Rating, other: Rating | None, limit: float, state: State, off: float, caught: bool
) -> None:
    found = seen(NAME, two(limit + off, one, other), PLAIN)

    assert [one.state for one in found] == [state] * caught
    for one_found in found:
        assert one_found.limit == pytest.approx(limit)
        assert one_found.measured == pytest.approx(limit + off, abs=0.003)


@pytest.mark.parametrize(("pads", "caught"), [(True, True), (False, False)])
def test_between_two_pads_the_table_of_leads_holds(pads: bool, caught: bool) -> None:
    # IPC-2221, table 6-1, 16 to 30 V: A6 0.25, B2 0.1.
    assert len(seen(NAME, two(0.2, steady(24), pads=pads), PLAIN)) == caught


def test_equal_voltages_need_nothing() -> None:
    assert seen(NAME, two(0.05, steady(12), steady(12)), PLAIN) == []


def test_nets_without_a_voltage_need_nothing_of_each_other() -> None:
    nets = [Net(name, [(2.1 * k, 0, 2)]) for k, name in enumerate("ABC")]

    found = seen(NAME, rated(nets, {"A": steady(48)}), PLAIN)

    assert [one.nets for one in found] == [("A", "B")]


def slanted(tip: Spread) -> Process:
    """A cone of 60 degrees 0.1 mm deep in foil of 35 um, which clears 1 mm in passes."""
    process = cone(tip, 60, exactly(0.1), foil=exactly(0.035))
    assert process.bit is not None
    return replace(process, foot=foot_width(process.bit, process.foil), cleared_width=1.0)


def test_the_foot_of_the_channel_counts() -> None:
    # The foot is narrower than the surface by 2 x 0.035 x tan 30 = 0.0404 mm.
    process = slanted(exactly(0.1))

    wide, narrow = (seen(NAME, two(apart, steady(48)), process) for apart in (0.65, 0.63))

    assert wide == []
    assert [one.measured for one in narrow] == [pytest.approx(0.63 - 0.0404, abs=0.002)]


@pytest.mark.parametrize(("volts", "less"), [(48.0, 0.0404), (72.0, 0.0404 + 0.02)])
def test_between_what_must_not_be_touched_the_narrowest_cut_counts(
    volts: float, less: float
) -> None:
    found = seen(NAME, two(0.5, steady(volts)), slanted(spread(0.1, 0.02)))

    straight = [one for one in found if "leftover" not in one.cause]
    assert [one.measured for one in straight] == [pytest.approx(0.5 - less, abs=0.002)]


def test_a_gap_too_narrow_to_cut_is_taken_for_one_that_is_cut() -> None:
    # That it does not open is told by the rules on gaps: 0.2 mm is enough for 12 V, not for 48 V.
    assert seen(NAME, two(0.05, steady(12)), clearing(1.0)) == []
    assert [one.measured for one in seen(NAME, two(0.05, steady(48)), clearing(1.0))] == [0.2]


def clearing(width: float) -> Process:
    """An upright cut that comes out alike everywhere, and passes that widen it."""
    cut = Spread(0.2, 0.2, 0.2)
    bit = cone(exactly(0.1), 30, exactly(0.1)).bit
    return replace(PLAIN, bit=bit, cut=cut, foot=cut, cleared_width=width)


SIZE = (-10.0, -5.0, 40.0, 15.0)


@pytest.mark.parametrize(
    ("apart", "width", "bands"),
    [
        (20.0, 1.0, 2.0),  # leftover copper lies between: two bands of 1 mm
        (20.0, 2.0, 4.0),
        (20.0, 2.4, None),  # two bands of 2.4 mm are enough
        (4.7, 2.4, None),  # the bands meet, the straight way is the only one
    ],
)
def test_by_way_of_leftover_copper_only_the_bands_count(
    apart: float, width: float, bands: float | None
) -> None:
    found = seen(NAME, two(apart, mains(), size=SIZE), clearing(width))

    assert [one.measured for one in found] == ([] if bands is None else [pytest.approx(bands)])
    assert all(one.state is State.NOT_MAKEABLE for one in found)


@pytest.mark.parametrize(("cleared", "caught"), [(3.4, True), (3.7, False)])
def test_what_the_maker_clears_round_a_net_counts(cleared: float, caught: bool) -> None:
    found = seen(NAME, two(20, mains(cleared=cleared), size=SIZE), clearing(1.0))

    assert [one.measured for one in found] == [pytest.approx(cleared + 1.0)] * caught


def test_copper_that_a_third_net_fences_off_joins_nothing() -> None:
    wall = Net("WALL", tracks=[(1.0, [(15, -5), (15, 15)])])
    nets = [Net("A", [(0, 5, 2)]), Net("B", [(30, 5, 2)]), wall]

    found = seen(NAME, rated(nets, {"A": mains()}, size=SIZE), clearing(1.0))

    assert [one.nets for one in found] == [("A", "WALL")]  # no copper is common to A and B


def test_etching_leaves_no_copper_between() -> None:
    assert seen(NAME, two(20, mains(), size=SIZE), replace(PLAIN, method="etching")) == []


def test_the_message_tells_gap_voltage_limit_and_remedy() -> None:
    (found,) = seen(NAME, two(3.0, mains(), steady(5), pads=True), PLAIN)

    assert found.message == (
        "3.000 mm left between JA.0 (A) and JB.0 (B), 330.3 V peak asks for 4.601 mm "
        "(reinforced creepage, IEC 60664-1)"
    )
    assert found.remedy == "Move them 1.61 mm farther apart"
    assert found.cause == "230 V ac nearer than 4.60 mm to 5 V"
    assert (found.side, found.nets, found.pins) == ("top", ("A", "B"), ("JA.0", "JB.0"))
    assert (found.x, found.y) == pytest.approx((2.5, 0.0), abs=0.05)


def test_the_remedy_for_leftover_copper_is_the_width_to_clear() -> None:
    facts = two(20, mains(), size=SIZE)

    (found,) = seen(NAME, facts, clearing(1.0))

    assert (
        found.remedy
        == "Clear 3.60 mm of copper round each net of 230 V ac and note that as cleared"
    )
    assert found.cause == "leftover copper near nets of 230 V ac"
    assert found.nets == ("A", "B")
    cleared = two(20, mains(cleared=3.6), size=SIZE)
    assert seen(NAME, cleared, clearing(1.0)) == []


def test_two_nets_of_one_voltage_share_what_leftover_copper_lacks() -> None:
    # 2.5 mm among mains nets, two bands of 1 mm are there: each net lacks a quarter millimetre.
    (found,) = seen(NAME, two(20, mains(), mains(), pads=True, size=SIZE), clearing(1.0))

    assert found.remedy.startswith("Clear 1.25 mm of copper round each net")
    # Pads of 2 mm about 0, 0 and 22, 0: the middle of what parts them.
    assert (found.x, found.y) == pytest.approx((11.0, 0.0), abs=0.05)


def test_nets_are_looked_for_as_far_as_the_narrowest_foot_wants_them() -> None:
    # 247.75 V wants 2 x (2 + 0.5 x 47.75 / 50) = 4.955 mm (IEC 60664-1, table F.4), the foot is
    # 0.0604 mm narrower: from 5.0154 mm on there is room.
    process = slanted(spread(0.1, 0.02))

    near, far = (seen(NAME, two(apart, mains(247.75)), process) for apart in (5.004, 5.02))

    straight = [[one.measured for one in found if "leftover" not in one.cause]
                for found in (near, far)]  # fmt: skip
    assert straight == [[pytest.approx(5.004 - 0.0604, abs=0.002)], []]


def test_the_board_s_word_goes_before_the_profile_s() -> None:
    process = replace(PLAIN, ratings={"A": mains(), "B": steady(0)})

    assert len(seen(NAME, two(1.0), process)) == 1
    assert seen(NAME, two(1.0, steady(5)), process) == []


def test_without_a_rating_nothing_is_checked() -> None:
    assert unchecked(NAME, two(1.0), PLAIN) == [Unchecked("voltages and currents", NO_RATING)]


def test_with_currents_alone_voltages_are_not_checked() -> None:
    (told,) = unchecked(NAME, two(1.0, steady(None, 2)), PLAIN)

    assert told.what == "voltages"


def test_a_profile_may_name_a_net_that_the_board_lacks() -> None:
    process = replace(PLAIN, ratings={"LIVE": mains()})

    assert unchecked(NAME, two(1.0), process) == [
        Unchecked("voltage and current of LIVE", "board-note.yaml:2: the board has no such net")
    ]


def test_a_name_that_is_nearly_that_of_a_net_is_asked_about() -> None:
    board = rated([Net("LIVE", [(0, 0, 1)]), Net("GND", [(9, 0, 1)])], {})
    process = replace(PLAIN, ratings={"LIVEE": mains()})

    (told,) = unchecked(NAME, board, process)

    assert told.why == "board-note.yaml:2: the board has no such net; did you mean LIVE?"


def test_nets_of_other_boards_are_told_once_for_their_file() -> None:
    process = replace(PLAIN, ratings={f"N{i}": replace(mains(), where=f"c:{i}") for i in range(7)})

    assert unchecked(NAME, two(1.0), process) == [
        Unchecked(
            "voltages and currents of N0, N1, N2, N3, N4 and 2 more",
            "c: the board has no such nets",
        )
    ]


def test_a_process_that_cuts_nothing_checks_no_voltage() -> None:
    (told,) = unchecked(NAME, two(1.0, mains()), replace(PLAIN, cut=None))

    assert told.what == "voltages"


@settings(deadline=None, max_examples=40)
@given(st.floats(0.2, 9), st.floats(1, 400), st.floats(1, 400), st.booleans())
def test_more_voltage_never_says_less(
    apart: float, volts: float, more: float, alternating: bool
) -> None:
    low, high = sorted((volts, more))
    make = mains if alternating else steady

    assert len(seen(NAME, two(apart, make(low)), PLAIN)) <= len(
        seen(NAME, two(apart, make(high)), PLAIN)
    )


def test_bad_sample_shows_mains_at_three_millimetres() -> None:
    report = check(read_board([BAD]), load_profile("cone-30-0.1"))

    (found,) = [one.seen for one in report.findings]
    # Drawn 3.0 mm apart; the cone's foot and its narrowest cut take 0.077 mm of it.
    assert found.measured == pytest.approx(3.0 - 0.077, abs=0.002)
    assert found.nets == ("NEUTRAL", "SENSE")
    assert (found.x, found.y) == pytest.approx((25.0, 19.69), abs=0.01)
    assert found.limit == pytest.approx(2 * (2.0 + 0.5 * (sqrt(230**2 + 5**2) - 200) / 50))
