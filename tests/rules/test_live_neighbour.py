"""Voltages across the pads of a perfboard, against the tables of IPC-2221 and IEC 60664-1."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from checker.board import Rating, Unchecked
from checker.findings import State
from checker.measure import measure
from checker.process import load_profile
from checker.read import read_board
from tests.gridded import PITCH, on_grid, standing
from tests.handmade import rule, seen
from tests.holed import unchecked

NAME = "live-neighbour"
ROOT = Path(__file__).parents[2]


def volts(value: float, *, alternating: bool = False) -> Rating:
    return Rating(value, alternating, None, None, "board-note.yaml:1")


def pair(columns: int, rows: int = 0):  # type: ignore[no-untyped-def]
    """Two leads so many holes apart, on nets HOT and COLD."""
    return [
        ("J1.1", "COLD", 10.0, 10.0),
        ("J2.1", "HOT", 10.0 + columns * PITCH, 10.0 + rows * PITCH),
    ]


# IPC-2221 table 6-1, uncoated external conductors (B2): 0.6 mm from 31 to 100 V; terminations
# uncoated (A6): 0.13 mm up to 30 V. Neighbouring pads of 2.0 mm leave 0.54.
@pytest.mark.parametrize(
    ("peak", "columns", "state"),
    [
        (30.0, 1, None),
        (48.0, 1, State.MARGINAL),
        (48.0, 2, None),
    ],
)
def test_pads_half_a_millimetre_apart_hold_thirty_volts(
    peak: float, columns: int, state: State | None
) -> None:
    facts = standing(pair(columns), ratings={"HOT": volts(peak)})

    found = seen(NAME, facts, on_grid())

    assert [one.state for one in found] == [state] * (state is not None)
    assert [one.measured for one in found] == pytest.approx([0.54] * len(found))
    assert [one.limit for one in found] == pytest.approx([0.6] * len(found))


# IEC 60664-1, material group III, pollution degree 2: 250 V 2.5 mm basic, twice that reinforced;
# 230 V between 200 V (2.0 mm) and 250 V.
@pytest.mark.parametrize(("columns", "count"), [(8, 1), (9, 0)])
def test_mains_passes_every_pad_between_for_nothing(columns: int, count: int) -> None:
    mains = volts(230 * math.sqrt(2), alternating=True)

    found = seen(NAME, standing(pair(columns), ratings={"HOT": mains}), on_grid())

    assert [one.state for one in found] == [State.NOT_MAKEABLE] * count
    assert [one.measured for one in found] == pytest.approx([8 * 0.54] * count)
    assert [one.remedy for one in found] == [
        "Leave 8 holes free between them in a row, or 2 with their pads off"
    ] * count


@pytest.mark.parametrize(("gap", "count"), [(0.606, 0), (0.6, 0), (0.596, 0), (0.594, 1)])
def test_pads_at_just_the_limit_pass(gap: float, count: int) -> None:
    # 0.6 mm for 48 V, less what cannot be told apart, 0.005 mm.
    facts = standing(pair(1), ratings={"HOT": volts(48)})

    assert len(seen(NAME, facts, on_grid(pad=PITCH - gap))) == count


def test_the_nearest_leads_of_two_nets_are_told_once() -> None:
    leads = [*pair(1), ("J3.1", "COLD", 10.0 + 3 * PITCH, 10.0), ("J4.1", "OTHER", 10.0, 40.0)]

    (one,) = seen(NAME, standing(leads, ratings={"HOT": volts(48)}), on_grid())

    assert (one.x or 0, one.y or 0) == pytest.approx((10 + PITCH / 2, 10.0))
    assert sorted(one.pins) == ["J1.1", "J2.1"]
    assert one.nets == ("COLD", "HOT")


@pytest.mark.parametrize("pad", [1.2, 1.6, 1.9, 2.1])
def test_smaller_pads_are_never_nearer(pad: float) -> None:
    facts = standing(pair(1), ratings={"HOT": volts(48)})
    counts = [len(seen(NAME, facts, on_grid(pad=size))) for size in (pad, pad + 0.1)]

    assert counts[0] <= counts[1]


def test_no_voltage_is_told_as_unchecked() -> None:
    (one,) = unchecked(NAME, standing(pair(1)), on_grid())

    assert one.what == "voltages and currents"


@pytest.mark.parametrize("key", ["pitch", "bend", "pad"])
def test_a_profile_without_the_grid_leaves_it_unchecked(key: str) -> None:
    facts = standing(pair(1), ratings={"HOT": volts(48)})

    (one,) = unchecked(NAME, facts, on_grid(**{key: None}))

    assert one == Unchecked("voltages between leads", f"the profile sets no grid.{key}")
    assert rule(NAME).methods == ("perfboard",)


def test_a_current_alone_leaves_the_voltages_unchecked() -> None:
    ampere = Rating(None, False, 1.0, None, "board-note.yaml:1")

    (one,) = unchecked(NAME, standing(pair(1), ratings={"HOT": ampere}), on_grid())

    assert one.what == "voltages"


def test_the_bad_sample_tells_the_two_posts() -> None:
    board = read_board([ROOT / "samples" / "rules" / NAME / "bad"])

    (one,) = seen(NAME, measure(board), load_profile("perfboard"))

    assert one.measured == pytest.approx(0.54, abs=1e-3)
    assert (one.x or 0, one.y or 0) == pytest.approx((2.5 * PITCH, 7.62))
