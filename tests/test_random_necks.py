"""Widths of necks on random boards as Gerber text, against the erosion of the planned copper."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from checker.measure import Reach, measure
from tests.gerber_boards import necks, report
from tests.gerber_boards.drawn import plans
from tests.gerber_boards.necks import NeckErrors
from tests.gerber_boards.plan import (
    Dialect,
    Flash,
    Mark,
    Plan,
    Rectangle,
    Round,
    Stroke,
)
from tests.gerber_boards.report import BATCH, Count, judge

EVERY = settings(
    deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
)
LONG_BATCHES = 160  # of 25 boards, of which every fifth is measured
OFF = 0.005
"""mm: the reader may move both walls by 1 um, enlarged blocks by some more, the truth is off by
0.6 um where both walls are arcs."""


@settings(EVERY, max_examples=12)
@given(plans())
def test_necks_are_as_wide_as_those_of_the_planned_copper(plan: Plan) -> None:
    found = NeckErrors()

    found.add(plan)

    assert found.wrong == []
    assert all(abs(error) < OFF for error in (*found.errors, *found.shared))


def bone(neck: int) -> Plan:
    """Two pads of 0.9 mm, 3 mm apart, and a trace between them; the width in steps of 10 um."""
    pads = tuple(Mark(Flash(Rectangle(90, 90), (x, 0))) for x in (0, 300))
    return Plan(Dialect(), (*pads, Mark(Stroke(Round(neck), ((0, 0), (300, 0))))))


@pytest.mark.parametrize("neck", [6, 12, 25, 39])
def test_a_trace_between_two_pads_is_one_neck_and_as_wide_as_its_pen(neck: int) -> None:
    found = NeckErrors()

    found.add(bone(neck))

    assert found.errors == pytest.approx([0], abs=2e-5)


def test_a_neck_that_is_not_found_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    found = NeckErrors()
    monkeypatch.setattr(necks, "measure", lambda board, _: measure(board, Reach(0.0, 0.1)))

    found.add(bone(15))

    assert found.errors == []
    assert [text.split(":")[0] for text in found.wrong] == ["neck of 0.1500, off by 30.0 um"]


def test_the_run_of_the_night_tells_of_necks(monkeypatch: pytest.MonkeyPatch) -> None:
    count = Count()
    monkeypatch.setattr(report, "wrong_verdicts", lambda *_: [])  # dear, and tested elsewhere
    monkeypatch.setattr(report, "width_errors", lambda *_: np.zeros(0))
    monkeypatch.setattr(report, "plans", lambda: st.builds(bone, st.integers(10, 20)))

    judge(0, count, boards=15)

    assert count.necks.errors
    assert f"{len(count.necks.errors)} necks" in str(count)


@pytest.mark.long
@pytest.mark.parametrize("batch", range(LONG_BATCHES))
def test_many_necks_from_text_to_number_have_no_wrong_one(batch: int) -> None:
    found = NeckErrors()

    @seed(batch)
    @settings(EVERY, derandomize=False, max_examples=BATCH, phases=[Phase.generate])
    @given(plans())
    def run(plan: Plan) -> None:
        found.add(plan)

    run()

    assert found.wrong == []
    assert max(map(abs, (*found.errors, *found.shared)), default=0.0) < OFF  # some have none
