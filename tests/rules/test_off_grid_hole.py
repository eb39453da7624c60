"""Leads against a grid of 2.54 mm (IEC 60097); where makers of parts put theirs is named beside."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.findings import State
from checker.measure import measure
from checker.process import load_profile
from checker.read import read_board
from tests.gridded import PITCH, Lead, on_grid, standing
from tests.handmade import rule, seen
from tests.holed import hit, unchecked

NAME = "off-grid-hole"
ROOT = Path(__file__).parents[2]


def rows(count: int) -> list[Lead]:
    """A header that settles the grid."""
    return [(f"J1.{n}", None, 10 + PITCH * n, 10.0) for n in range(1, count + 1)]


def part(name: str, x: float, y: float, *steps: tuple[float, float]) -> list[Lead]:
    return [(f"{name}.{n}", None, x + dx, y + dy) for n, (dx, dy) in enumerate(steps, 1)]


def pinned() -> list[Lead]:
    """Leads that leave the grid no way to give in: bent to it from all four sides."""
    ways = [(-0.399, 0), (0.399, 0), (0, -0.399), (0, 0.399)]
    spots = [(10 + PITCH * n + dx, 10 + dy) for n, (dx, dy) in enumerate(ways * 2)]
    return [(f"J{n}.1", None, x, y) for n, (x, y) in enumerate(spots)]


@pytest.mark.parametrize(("aside", "count"), [(0.39, 0), (0.402, 0), (0.41, 1), (1.27, 1)])
def test_a_lead_may_be_as_far_off_as_it_bends(aside: float, count: int) -> None:
    facts = standing([*pinned(), ("R1.1", None, 10 + aside, 10 + 4 * PITCH)])

    found = seen(NAME, facts, on_grid())

    assert [one.pins for one in found] == [("R1.1",)] * count
    assert [one.measured for one in found] == pytest.approx([aside] * count, abs=2e-3)


def test_a_part_that_stands_beside_the_grid_is_moved() -> None:
    facts = standing([*rows(5), *part("R1", 10.9, 10 + 4 * PITCH - 0.6, (0, 0), (4 * PITCH, 0))])

    (one,) = seen(NAME, facts, on_grid())

    assert one.state is State.MARGINAL
    assert one.measured == pytest.approx(math.hypot(0.9, 0.6), abs=1e-3)
    assert (one.x, one.y, one.pins) == (10.9, 10 + 4 * PITCH - 0.6, ("R1.1",))
    assert one.remedy == "Move R1 0.90 mm left and 0.60 mm up"


def test_the_first_part_of_all_is_told_once_too() -> None:
    facts = standing([*part("A1", 10.9, 10 + 4 * PITCH, (0, 0), (4 * PITCH, 0)), *rows(5)])

    (one,) = seen(NAME, facts, on_grid())

    assert one.remedy == "Move A1 0.90 mm left"
    assert unchecked(NAME, facts, on_grid()) == []


# Dual in-line packages have leads 2.54 apart in rows 7.62 or 15.24 apart (JEDEC MS-001, MS-011);
# screw terminals of 5.00 mm are sold as ones of 5.08 (common practice).
@pytest.mark.parametrize(
    "steps",
    [
        [(0, 0), (2.54, 0), (5.08, 0), (0, 7.62), (2.54, 7.62), (5.08, 7.62)],
        [(0, 0), (5.0, 0), (10.0, 0), (15.0, 0)],
    ],
)
def test_what_is_made_for_the_grid_meets_it(steps: list[tuple[float, float]]) -> None:
    facts = standing([*rows(9), *part("U1", 10 + 0.05, 10 + 5 * PITCH, *steps)])

    assert seen(NAME, facts, on_grid()) == []


# A header of 2.00 mm does not fit. Push buttons with leads 6.5 x 4.5 mm apart (makers' data) are
# bent to 7.62 x 5.08. A transistor TO-92 in line has its leads 1.27 mm apart (JEDEC TO-226).
@pytest.mark.parametrize(
    ("steps", "fit", "state"),
    [
        ([(2.0 * n, 0) for n in range(4)], 0.81, State.NOT_MAKEABLE),
        ([(0, 0), (6.5, 0), (0, 4.5), (6.5, 4.5)], 0.631, State.MARGINAL),
        ([(0, 0), (6.42, 0), (0, 4.5), (6.42, 4.5)], 0.666, State.NOT_MAKEABLE),
        ([(0, 0), (1.27, 0), (2.54, 0)], 0.635, State.MARGINAL),
        ([(0, 0), (8.9, 0)], 0.63, State.MARGINAL),
    ],
)
def test_leads_that_fit_no_grid_bend_or_stop_the_part(
    steps: list[tuple[float, float]], fit: float, state: State
) -> None:
    facts = standing([*rows(9), *part("X1", 10 + 3 * PITCH, 10 + 5 * PITCH, *steps)])

    (one,) = seen(NAME, facts, on_grid())

    assert one.measured == pytest.approx(fit, abs=1e-3)
    assert one.state is state
    assert "wherever the part is moved" in one.message


# Leads a third of the pitch apart, in that grid: the outer two are 2/3 x 2.54 mm apart, so one of
# them stays half of that beside its hole.
@pytest.mark.parametrize(
    ("free", "forced", "state"),
    [
        (3, None, State.MARGINAL),
        (2, None, State.NOT_MAKEABLE),
        (None, 0.86, State.MARGINAL),
        (2, 0.83, State.NOT_MAKEABLE),
        (None, None, State.NOT_MAKEABLE),
    ],
)
def test_few_leads_bend_as_far_as_they_must_and_more_as_far_as_is_allowed(
    free: int | None, forced: float | None, state: State
) -> None:
    steps = [(4 / 3 * PITCH * n, 0.0) for n in range(3)]
    facts = standing([*rows(9), *part("X1", 10 + 3 * PITCH, 10 + 5 * PITCH, *steps)])

    (one,) = seen(NAME, facts, on_grid(free_leads=free, forced_bend=forced))

    assert one.measured == pytest.approx(PITCH / 3, abs=1e-3)
    assert one.state is state


def test_of_a_hole_without_a_part_nobody_knows_whether_moving_helps() -> None:
    facts = standing([*rows(5), ("", None, 10 + 0.9, 20 + 0.16)])

    (one,), (open_,) = seen(NAME, facts, on_grid()), unchecked(NAME, facts, on_grid())

    assert one.state is State.MARGINAL
    assert one.measured == pytest.approx(0.9, abs=1e-3)
    assert one.remedy == "Move it 0.90 mm left"
    assert open_ == Unchecked(
        "whether parts fit the grid", "no file names the parts of leads off it"
    )


@pytest.mark.parametrize("bend", [0.1, 0.2, 0.3, 0.4])
def test_leads_that_bend_further_never_miss_more_holes(bend: float) -> None:
    spots = [("", None, 10 + 2.9 * n, 10 + 1.7 * (n % 4)) for n in range(30)]
    counts = [len(seen(NAME, standing(spots), on_grid(bend=b))) for b in (bend, bend + 0.05)]

    assert counts[0] >= counts[1]
    assert counts[0] > 0


@pytest.mark.parametrize("key", ["pitch", "bend"])
def test_a_profile_without_a_grid_leaves_it_unchecked(key: str) -> None:
    (one,) = unchecked(NAME, standing(rows(3)), on_grid(**{key: None}))

    assert one == Unchecked("leads on the grid", f"the profile sets no grid.{key}")


def test_holes_that_were_not_read_are_told() -> None:
    (one,) = unchecked(NAME, standing(rows(3), read=False), on_grid())

    assert one.why == "no drill file"


def test_a_board_without_leads_is_no_pass() -> None:
    facts = standing([], more=[hit(5, 5, 3.2, "MechanicalDrill")])

    (one,) = unchecked(NAME, facts, on_grid())

    assert one.why == "no hole of the board takes a lead"


def test_nothing_but_perfboard_asks() -> None:
    assert rule(NAME).methods == ("perfboard",)


def test_the_bad_sample_tells_the_resistor_that_stands_aside() -> None:
    board = read_board([ROOT / "samples" / "rules" / NAME / "bad"])

    (one,) = seen(NAME, measure(board), load_profile("perfboard"))

    assert one.measured == pytest.approx(0.9, abs=1e-3)
    assert one.pins == ("R2.1",)
    assert (one.x or 0, one.y or 0) == pytest.approx((13.6, 5.08))
