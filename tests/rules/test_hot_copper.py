from __future__ import annotations

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
from checker.read import read_board
from tests.handmade import PLAIN, exactly, seen
from tests.holed import unchecked
from tests.rated import Net, rated, steady

if TYPE_CHECKING:
    from checker.measure import Facts
    from checker.process.model import Process

NAME = "hot-copper"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
MIL = 0.0254  # mm, exact
OUNCE = 1.378 * MIL  # the thickness that trace calculators print for one ounce
PROCESS = replace(PLAIN, foil=exactly(OUNCE), temperature_rise=10.0)


def line(width: float, amperes: float | None, pads: float = 4.0) -> Facts:
    """A net A of two pads 30 mm apart and a track."""
    net = Net("A", [(0, 0, pads), (30, 0, pads)], [(width, [(0, 0), (30, 0)])])
    return rated([net], {"A": steady(5, amperes)})


@pytest.mark.parametrize(
    ("amperes", "mils"),
    [
        # Published calculators, fit of IPC-2221, outer layer, 1 oz, 10 K.
        (1, 11.83),
        (2, 30.76),
        (3, 53.82),
    ],
)
@pytest.mark.parametrize(("off", "caught"), [(-0.01, True), (-0.002, False), (0.01, False)])
def test_width_is_that_of_published_calculators(
    amperes: float, mils: float, off: float, caught: bool
) -> None:
    found = seen(NAME, line(mils * MIL + off, amperes), PROCESS)

    assert [one.limit for one in found] == [pytest.approx(mils * MIL, abs=0.001)] * caught


@pytest.mark.parametrize(
    ("width", "state"), [(0.42, State.MARGINAL), (0.25, State.NOT_MAKEABLE)], ids=["warm", "burns"]
)
def test_a_net_that_would_burn_is_not_makeable(width: float, state: State) -> None:
    # By the fit 2.5 A ask for 41.9 mil at 10 K and for 10^(-0.44 / 0.725) of that at 100 K.
    wide = 41.9 * MIL * 10 ** (-0.44 / 0.725)

    (found,) = seen(NAME, line(width, 2.5), PROCESS)

    assert (width < wide) == (state is State.NOT_MAKEABLE)
    assert found.state is state


def test_a_thin_branch_of_a_net_with_a_good_way_is_marginal() -> None:
    net = Net(
        "A",
        [(0, 0, 4), (30, 0, 4), (15, 12, 4)],
        [(3.0, [(0, 0), (30, 0)]), (0.2, [(15, 0), (15, 12)])],
    )

    (found,) = seen(NAME, rated([net], {"A": steady(5, 2.5)}), PROCESS)

    assert found.state is State.MARGINAL
    assert found.measured == pytest.approx(0.2, abs=0.003)


@pytest.mark.parametrize(
    ("length", "amperes", "caught"), [(0.9, 2, False), (1.5, 2, True), (0.9, 9, True)]
)
def test_a_short_neck_is_cooled_by_what_it_joins(
    length: float, amperes: float, caught: bool
) -> None:
    far = 45 + length
    left, right = (5.0, [(0.0, 0.0), (20.0, 0.0)]), (5.0, [(far - 20, 0.0), (far, 0.0)])
    net = Net("A", [(0, 0, 4), (far, 0, 4)], [left, right, (0.4, [(9.0, 0.0), (30.0, 0.0)])])

    found = seen(NAME, rated([net], {"A": steady(5, amperes)}), replace(PROCESS, short_neck=1.0))

    assert len([one for one in found if one.measured and one.measured < 1]) == caught


def test_a_wide_pour_says_nothing() -> None:
    net = Net("A", [(0, 0, 3), (30, 9, 3)], [(9.0, [(0, 0), (30, 0), (30, 9)])])

    assert seen(NAME, rated([net], {"A": steady(5, 10)}), PROCESS) == []


def test_what_etching_and_a_bite_take_counts() -> None:
    process = replace(PROCESS, undercut=0.035, bite=0.05)

    (found,) = seen(NAME, line(0.4, 1), process)

    assert found.measured == pytest.approx(0.4 - 2 * (0.035 + 0.05), abs=0.003)
    assert found.remedy == "Widen it to 0.48 mm, or solder bare wire along it"
    assert seen(NAME, line(0.48, 1), process) == []


def test_thin_foil_asks_for_more_width() -> None:
    (found,) = seen(NAME, line(0.31, 1), replace(PROCESS, foil=exactly(OUNCE / 2)))

    assert found.limit == pytest.approx(2 * 11.83 * MIL, abs=0.002)


def test_the_message_tells_width_rise_resistance_and_remedy() -> None:
    (found,) = seen(NAME, line(0.5, 2), PROCESS)

    # Resistance by hand: 1.7241e-5 ohm mm x 26.0 mm / (0.5 mm x 0.035 mm) = 25.6 milliohm.
    assert found.message == (
        "Copper 0.500 mm wide, 2 A asks for 0.781 mm; it would run 21 K warmer, "
        "25.6 milliohm over 26.0 mm: A"
    )
    assert found.remedy == "Widen it to 0.79 mm, or solder bare wire along it"
    assert found.cause == "A too narrow for 2 A"
    assert (found.side, found.nets) == ("top", ("A",))
    assert (found.x, found.y) == pytest.approx((15, 0), abs=0.01)


@settings(deadline=None, max_examples=30)
@given(st.floats(0.2, 3), st.floats(0.1, 8), st.floats(0.1, 8))
def test_more_current_never_says_less(width: float, amperes: float, more: float) -> None:
    low, high = sorted((amperes, more))

    assert len(seen(NAME, line(width, low), PROCESS)) <= len(seen(NAME, line(width, high), PROCESS))


def test_without_a_rating_nothing_is_checked() -> None:
    (told,) = unchecked(NAME, rated([Net("A", [(0, 0, 2)])]), PROCESS)

    assert told.what == "voltages and currents"


@pytest.mark.parametrize(
    ("process", "why"),
    [
        (replace(PROCESS, temperature_rise=None), "the profile sets no temperature_rise"),
        (replace(PROCESS, foil=exactly(0.0)), "the process has no copper of its own"),
    ],
)
def test_without_a_limit_nothing_is_checked(process: Process, why: str) -> None:
    assert unchecked(NAME, line(0.1, 1), process) == [Unchecked("currents", why)]


def test_with_voltages_alone_currents_are_not_checked() -> None:
    assert [one.what for one in unchecked(NAME, line(0.1, None), PROCESS)] == ["currents"]


def test_bad_sample_shows_the_thin_supply() -> None:
    report = check(read_board([BAD]), load_profile("cone-30-0.1"))

    (found,) = [one.seen for one in report.findings]
    assert found.measured == pytest.approx(0.8, abs=0.002)
    assert found.nets == ("12V",)
    assert (found.x, found.y) == pytest.approx((20.0, 12.54), abs=0.01)
    # 3 A at 10 K: 53.82 mil of 1.378 mil foil; the thinnest foil here is 34.3 um less a tenth.
    assert found.limit == pytest.approx(53.82 * MIL * OUNCE / (0.0343 * 0.9), rel=1e-3)
