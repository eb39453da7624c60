"""Leads by their holes, against the 1.0 mm of a perfboard (common practice)."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker.findings import State
from checker.measure import measure
from checker.process import load_profile
from checker.read import read_board
from tests.gridded import on_grid, standing
from tests.handmade import rule, seen
from tests.holed import slot, unchecked

NAME = "thick-lead"
ROOT = Path(__file__).parents[2]
PIN = [("J1.1", "GND", 10.0, 10.0)]


# A layout's hole is wider than the lead by 0.15 to 0.25 mm (IPC-2222); posts 0.64 mm square are
# 0.905 across and get 1.0 to 1.1 mm, pins of screw terminals are 1.0 mm and get 1.3.
@pytest.mark.parametrize(
    ("size", "state"),
    [
        (0.9, None),
        (1.1, None),
        (1.2, None),
        (1.203, None),
        (1.21, State.REMARK),
        (1.3, State.REMARK),
        (1.99, State.REMARK),
        (2.0, State.MARGINAL),
    ],
)
def test_a_hole_tells_how_thick_its_lead_is(size: float, state: State | None) -> None:
    found = seen(NAME, standing(PIN, size, pad=3.0), on_grid())

    assert [one.state for one in found] == [state] * (state is not None)
    assert [one.measured for one in found] == pytest.approx([size - 0.2] * len(found))


def test_the_remedy_is_the_layouts_hole() -> None:
    (one,) = seen(NAME, standing(PIN, 1.3), on_grid())

    assert one.remedy == "Drill the hole out to 1.30 mm"
    assert (one.x, one.y, one.pins, one.limit) == (10.0, 10.0, ("J1.1",), 1.0)


def test_a_slot_is_as_wide_as_it_is_long() -> None:
    facts = standing(PIN, more=[slot((30, 10), (31, 10), 0.8, "ComponentDrill")])

    (one,) = seen(NAME, facts, on_grid())

    assert one.measured == pytest.approx(1.6)
    assert "slot of 1.80 mm" in one.message


@pytest.mark.parametrize("hole", [0.8, 1.0, 1.2, 1.5])
def test_wider_holes_take_no_fewer_leads(hole: float) -> None:
    leads = [(f"J{n}.1", None, 10.0 + 5 * n, 10.0) for n in range(8)]
    facts = [standing([lead], 0.8 + 0.1 * n) for n, lead in enumerate(leads)]

    counts = [sum(len(seen(NAME, f, on_grid(hole=h))) for f in facts) for h in (hole, hole + 0.1)]

    assert counts[0] >= counts[1]


@pytest.mark.parametrize("key", ["hole", "pad"])
def test_a_profile_without_holes_leaves_it_unchecked(key: str) -> None:
    (one,) = unchecked(NAME, standing(PIN), on_grid(**{key: None}))

    assert one.why == f"the profile sets no grid.{key}"
    assert rule(NAME).methods == ("perfboard",)


def test_holes_that_were_not_read_are_told() -> None:
    (one,) = unchecked(NAME, standing(PIN, read=False), on_grid())

    assert one.why == "no drill file"


def test_the_bad_sample_tells_three_posts() -> None:
    board = read_board([ROOT / "samples" / "rules" / NAME / "bad"])

    found = seen(NAME, measure(board), load_profile("perfboard"))

    assert sorted(one.pins[0] for one in found) == ["J1.1", "J1.2", "J1.3"]
    assert [one.measured for one in found] == pytest.approx([1.1] * 3)
