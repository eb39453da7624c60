"""The window of depths against brute force: the board judged anew at every micrometre of depth."""

from __future__ import annotations

from math import inf
from pathlib import Path
from random import Random

import numpy as np
import pytest
import yaml
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import affinity

from checker import exact
from checker.board import Board
from checker.depth import window_of
from checker.findings import State
from checker.measure import Facts, Reach, measure
from checker.process import load_profile
from checker.process.bit import Bit, Spread
from checker.process.model import Process
from checker.process.vary import at_depth
from tests import handmade
from tests.handmade import Gap, cone, exactly, facts, flat, spread
from tests.layouts import board_of, layout

MICROMETRE = 0.001
DEEPEST = 0.4  # as far as depths are tried, mm
SIZE = 5
GAP_RULES = ("uncuttable-gap", "trimmed-gap", "tight-gap", "uncut-foil")


def random_process(rng: Random) -> Process:
    """A cone or a ball with spreads of all sizes, now and then measured or biting."""
    shape = rng.choice(["cone", "cone", "ball"])
    tip = rng.uniform(0.05, 0.25) if shape == "cone" else rng.uniform(0.2, 1.0)
    off, up, down = rng.uniform(0, 0.03), rng.uniform(0, 0.03), rng.uniform(0, 0.02)
    depth = rng.uniform(0.05, 0.2)
    runout = exactly(0.0) if rng.random() < 0.3 else Spread(0.0, 0.01, rng.uniform(0.01, 0.04))
    bit = Bit(
        shape=shape,
        tip_width=Spread(tip - off / 2, tip, tip + off),
        angle=rng.choice([10, 20, 30, 45, 60, 90]) if shape == "cone" else 0.0,
        depth=Spread(depth - down, depth, depth + up),
        diameter=3.175 if shape == "cone" else tip,
        runout=runout,
        overcut=exactly(0.0),
        measured_width=spread(rng.uniform(0.1, 0.3), off) if rng.random() < 0.3 else None,
    )
    return handmade.with_bit(bit, bed_error=rng.choice([0.0, 0.01, rng.uniform(0, 0.05)]))


def judged(facts: Facts, process: Process) -> tuple[bool, bool]:
    """Whether gaps and foil pass at the worst, and whether nothing rules the board out."""
    states = {seen.state for name in GAP_RULES for seen in handmade.seen(name, facts, process)}
    return not states, State.NOT_MAKEABLE not in states


def by_brute_force(facts: Facts, process: Process) -> tuple[list[float], list[float]]:
    """The depths, by whole micrometres, at which each of the two holds."""
    depths = [MICROMETRE * step for step in range(round(DEEPEST / MICROMETRE))]
    verdicts = [judged(facts, at_depth(process, depth)) for depth in depths]
    return tuple(  # type: ignore[return-value]
        [depth for depth, verdict in zip(depths, verdicts, strict=True) if verdict[which]]
        for which in (0, 1)
    )


def _board(seed: int) -> Board:
    """A random layout, drawn so large that about half of the bits pass it at some depth."""
    return board_of(
        [affinity.scale(island, SIZE, SIZE, origin=(0, 0)) for island in layout("ordinary", seed)]
    )


def assert_window_is_that_of_brute_force(seed: int) -> None:
    rng = Random(seed)
    process = random_process(rng)
    measured = measure(_board(seed), Reach(cut=1.2, copper=0.0))

    window = window_of(measured, process)
    assert window is not None
    for span, depths in zip(
        (window.sure, window.nominal), by_brute_force(measured, process), strict=True
    ):
        if depths:
            assert span.shallowest == pytest.approx(depths[0], abs=MICROMETRE) or depths[0] == 0
            assert min(span.deepest, DEEPEST) == pytest.approx(depths[-1], abs=1.01 * MICROMETRE)
            assert np.allclose(np.diff(depths), MICROMETRE)  # one window, no holes in it
        else:
            first = max(span.shallowest, 0.0)
            assert min(span.deepest, DEEPEST) < first + MICROMETRE


@pytest.mark.parametrize("seed", range(5))
def test_window_is_that_of_brute_force(seed: int) -> None:
    assert_window_is_that_of_brute_force(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(5, 520))
def test_window_is_that_of_brute_force_on_many_layouts(seed: int) -> None:
    assert_window_is_that_of_brute_force(seed)


# A cone of 60 degrees cuts 2 tan 30 = 1.1547 wider per depth (a published formula for engraving).
SLOPE = 1.154701
BAND = exact.tie(facts([Gap(0.2)]).board)


def test_window_worked_by_hand() -> None:
    process = cone(exactly(0.1), 60, spread(0.08, 0.01), bed_error=0.02, foil=spread(0.035, 0.003))

    window = window_of(facts([Gap(0.5), Gap(0.25)]), process)

    assert window is not None
    # The foil at its most, and what bed and setting may take off; the gap less the tip, and what
    # bed and setting may add.
    assert window.sure.shallowest == pytest.approx(0.038 + 0.02 + 0.01)
    assert window.sure.deepest == pytest.approx((0.25 + BAND - 0.1) / SLOPE - 0.02 - 0.01, abs=1e-6)
    assert window.nominal.shallowest == pytest.approx(0.035)
    assert window.nominal.deepest == pytest.approx((0.25 + BAND - 0.1) / SLOPE, abs=1e-6)
    # Half of what lies between foil and gap, less the setting, may be bed.
    between = (0.25 + BAND - 0.1) / SLOPE - 0.038
    assert window.flatness == pytest.approx(between / 2 - 0.01, abs=1e-6)
    assert window.best == pytest.approx(0.07)
    assert window.fits == 0.25
    assert not window.beyond


@given(st.floats(0.11, 0.4), st.floats(0, 0.01), st.floats(0.002, 0.05))
def test_a_bed_as_flat_as_told_leaves_one_depth(fits: float, setting: float, bed: float) -> None:
    board = facts([Gap(fits)])
    window = window_of(board, cone(exactly(0.1), 30, spread(0.1, setting), bed_error=bed))
    assert window is not None
    assume(0 < window.flatness < 1)

    flat_bed = window_of(board, cone(exactly(0.1), 30, spread(0.1, setting), window.flatness))

    assert flat_bed is not None
    assert flat_bed.sure.room == pytest.approx(0, abs=1e-9)


def test_a_measured_cut_moves_along_the_curve_of_its_bit() -> None:
    catalogue = cone(exactly(0.1), 60, exactly(0.1))
    assert catalogue.bit is not None
    measured = replace(catalogue.bit, measured_width=Spread(0.22, 0.24, 0.26))

    process = at_depth(handmade.with_bit(measured), 0.05)

    assert process.cut is not None
    assert process.cut.nominal == pytest.approx(0.24 - 0.05 * SLOPE, abs=1e-6)
    assert process.cut.most - process.cut.nominal == pytest.approx(0.02)


def test_an_end_mill_has_no_depth_that_is_too_deep_or_none_that_will_do() -> None:
    wide, narrow = (
        window_of(facts([Gap(0.5)]), flat(size, spread(0.1, 0.01))) for size in (0.6, 0.4)
    )

    assert wide is not None
    assert wide.sure.deepest == -inf
    assert wide.best is None
    assert narrow is not None
    assert narrow.sure.deepest == inf
    assert narrow.best == pytest.approx(0.05)


def test_a_board_without_gaps_in_reach_is_told_as_far_as_it_was_measured() -> None:
    window = window_of(facts(), cone(exactly(0.1), 60, exactly(0.1)))

    assert window is not None
    assert window.beyond
    assert window.fits == handmade.REACH


@pytest.mark.parametrize("process", [handmade.cutting(0.2, method="etching"), handmade.PLAIN])
def test_a_process_that_sets_no_depth_has_no_window(process: Process) -> None:
    assert window_of(facts([Gap(0.2)]), process) is None


def test_only_a_bit_can_be_set_deeper() -> None:
    with pytest.raises(ValueError, match="sets no depth"):
        at_depth(handmade.cutting(0.2, method="etching"), 0.1)


def test_a_profile_written_out_at_another_depth_loads_to_the_same_process(tmp_path: Path) -> None:
    process = at_depth(load_profile("cone-30-0.1"), 0.12)
    file = tmp_path / "deeper.yaml"
    file.write_text(yaml.safe_dump(process.resolved))

    loaded = load_profile(file)

    assert loaded.bit == process.bit
    assert loaded.cut == process.cut
    assert loaded.foot == process.foot
