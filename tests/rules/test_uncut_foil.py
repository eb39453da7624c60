from __future__ import annotations

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.findings import State
from checker.process.bit import Bit, Spread
from checker.process.width import cut_width
from tests.handmade import PLAIN, cone, exactly, facts, flat, rule, seen, spread, with_bit

NAME = "uncut-foil"
BOARD = facts()

# IPC-4562 specifies foil by weight: 1 oz/ft2 is 305 g/m2 within 10 %, which at the density of
# copper (8.93 g/cm3) is 0.0342 mm within 0.0307 and 0.0376 mm.
ONE_OUNCE = Spread(0.0307, 0.0342, 0.0376)


@pytest.mark.parametrize(
    ("depth", "states"),
    [
        (0.0341, [State.NOT_MAKEABLE]),
        (0.0343, [State.MARGINAL]),
        (0.0375, [State.MARGINAL]),
        (0.0376, []),
        (0.04, []),
    ],
    ids=["below nominal", "above nominal", "below the most", "exactly the most", "above"],
)
def test_one_ounce_foil_wants_its_heaviest_weight_cut(depth: float, states: list[State]) -> None:
    found = seen(NAME, BOARD, flat(0.4, exactly(depth), foil=ONE_OUNCE))

    assert [one.state for one in found] == states


def test_the_bed_counts_against_the_depth() -> None:
    level = cone(exactly(0.1), 30, spread(0.06, 0.01), bed_error=0.01, foil=ONE_OUNCE)
    warped = cone(exactly(0.1), 30, spread(0.06, 0.01), bed_error=0.02, foil=ONE_OUNCE)

    assert seen(NAME, BOARD, level) == []
    assert [one.state for one in seen(NAME, BOARD, warped)] == [State.MARGINAL]


@given(st.floats(0, 0.2), st.floats(0, 0.1), st.floats(0, 0.1))
def test_a_worse_bed_never_cuts_more(depth: float, bed: float, other: float) -> None:
    level, warped = sorted((bed, other))

    assert len(seen(NAME, BOARD, flat(0.4, exactly(depth), bed_error=level))) <= len(
        seen(NAME, BOARD, flat(0.4, exactly(depth), bed_error=warped))
    )


@given(st.floats(0, 0.2), st.floats(0, 0.05), st.floats(0, 0.1))
def test_the_depth_told_cuts_the_foil_and_its_width_is_told(
    depth: float, more: float, bed: float
) -> None:
    shallow = cone(exactly(0.1), 30, spread(depth, more), bed_error=bed)
    for found in seen(NAME, BOARD, shallow):
        ((deeper, width),) = re.findall(
            r"depth to (\d+\.\d+) mm, where the cut is (\d+\.\d+) mm wide", found.remedy
        )
        mended = cone(exactly(0.1), 30, spread(float(deeper), more), bed_error=bed)

        assert seen(NAME, BOARD, mended) == []
        assert mended.cut is not None
        assert float(width) == pytest.approx(mended.cut.nominal, abs=0.0006)


@given(st.floats(0.04, 0.2), st.floats(0, 0.05), st.floats(0, 0.2))
def test_the_flatness_told_is_enough(depth: float, more: float, bed: float) -> None:
    for found in seen(NAME, BOARD, flat(0.4, spread(depth, more), bed_error=bed)):
        flatness = re.findall(r"hold the surface to ±(\d+\.\d+) mm", found.remedy)
        assume(flatness)
        level = flat(0.4, spread(depth, more), bed_error=float(flatness[0]))

        assert seen(NAME, BOARD, level) == []


def test_the_message_tells_the_shallowest_depth_and_the_foil() -> None:
    shallow = cone(exactly(0.1), 30, spread(0.05, 0.01), bed_error=0.02, foil=ONE_OUNCE)

    (found,) = seen(NAME, BOARD, shallow)

    assert found.message == (
        "Shallowest cut 0.020 mm, the foil is up to 0.038 mm thick: copper stays uncut where the "
        "surface lies low"
    )
    assert found.remedy == "Set the depth to 0.07 mm, where the cut is 0.138 mm wide"
    assert (found.side, found.x, found.y) == (None, None, None)


def test_a_bit_that_may_pass_above_the_copper_cuts_nothing_there() -> None:
    (found,) = seen(NAME, BOARD, flat(0.4, exactly(0.04), bed_error=0.1))

    assert found.message.startswith("Shallowest cut 0.000 mm")
    assert found.measured == pytest.approx(-0.06)


def test_a_measured_width_is_told_as_it_was_measured() -> None:
    geometry = cone(exactly(0.1), 30, exactly(0.04)).bit
    assert geometry is not None
    bit = replace(geometry, measured_width=exactly(0.2))

    (found,) = seen(NAME, BOARD, with_bit(bit, bed_error=0.01))

    wider = cut_width(replace(bit, measured_width=None, depth=exactly(0.05))).nominal
    narrower = cut_width(replace(bit, measured_width=None)).nominal
    assert f"the cut is {0.2 + wider - narrower:.3f} mm wide" in found.remedy


def test_the_depth_of_a_beam_is_not_known_and_said_to_be_unchecked() -> None:
    beam = Bit("beam", exactly(0.08), 0, exactly(0.0), 0.08, exactly(0.0), exactly(0.0))

    answer = list(rule(NAME).check(BOARD, with_bit(beam)))

    assert [type(one) for one in answer] == [Unchecked]


def test_a_process_without_a_tool_has_no_depth() -> None:
    assert list(rule(NAME).check(BOARD, PLAIN)) == []
