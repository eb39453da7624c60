"""Parts that lie flat, as makers draw their pads, on a perfboard."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.findings import State
from checker.measure import measure
from checker.process import load_profile
from checker.read import read_board
from samples import parts
from samples.layout import Footprint, Land, Layout
from tests.gridded import on_grid, standing
from tests.handmade import rule, seen
from tests.holed import unchecked
from tests.joined import facts_of, without_words

NAME = "surface-part"
ROOT = Path(__file__).parents[2]


def beside(part: Footprint, name: str = "X1") -> Layout:
    """A part beside a header of three posts."""
    board = Layout("beside", (40.0, 30.0))
    board.place(parts.header(3), "J1", 6.0, 12.0, ["A", "B", "C"], turn=1)
    board.place(part, name, 25.0, 15.0, ["A", "B", "C"][: len(part.lands)])
    board.track("top", 0.4, "A", (25.0 + part.lands[0].x, 15.0 + part.lands[0].y), (30.0, 25.0))
    return board


@pytest.mark.parametrize(
    ("part", "pads"), [(parts.sot23(), 3), (parts.soic(16), 16), (parts.tssop(20), 20)]
)
def test_a_package_with_flat_leads_has_nothing_to_stand_on(
    part: Footprint, pads: int, tmp_path: Path
) -> None:
    (one,) = seen(NAME, facts_of(beside(part), tmp_path), on_grid())

    assert one.state is State.NOT_MAKEABLE
    assert f"flat on {pads} pads" in one.message
    assert (one.side, one.pins) == ("top", ("X1",))


def two_pads(apart: float) -> Footprint:
    ends = (("1", -apart / 2), ("2", apart / 2))
    return Footprint(
        tuple(Land(pin, x, 0, 0.3, 1.0, function="SMDPad") for pin, x in ends), (-1, -1, 1, 1)
    )


@pytest.mark.parametrize(
    ("apart", "state"),
    [
        (1.26, State.NOT_MAKEABLE),  # half a pitch is 1.27
        (1.28, State.MARGINAL),
        (3.80, State.MARGINAL),
        (3.82, State.NOT_MAKEABLE),  # one and a half are 3.81
    ],
)
def test_a_chip_lies_across_two_holes_if_its_pads_are_about_as_far_apart(
    apart: float, state: State, tmp_path: Path
) -> None:
    (one,) = seen(NAME, facts_of(beside(two_pads(apart)), tmp_path), on_grid())

    assert one.state is state


@pytest.mark.parametrize("size", ["0603", "0805", "1206"])
def test_chips_that_are_soldered_across_by_practice_are_so_here(size: str, tmp_path: Path) -> None:
    (one,) = seen(NAME, facts_of(beside(parts.chip(size)), tmp_path), on_grid())

    assert one.state is State.MARGINAL


def test_leads_lie_on_nothing_flat(tmp_path: Path) -> None:
    assert seen(NAME, facts_of(beside(parts.dip(8)), tmp_path), on_grid()) == []


def test_a_single_flat_pad_is_a_test_point(tmp_path: Path) -> None:
    lone = Footprint((Land("1", 0, 0, 1.5, 1.5, function="SMDPad"),), (-1, -1, 1, 1))

    assert seen(NAME, facts_of(beside(lone, "TP1"), tmp_path), on_grid()) == []


def test_pads_that_nobody_names_are_counted_by_side(tmp_path: Path) -> None:
    layout = beside(parts.soic(16))
    for pin in (1, 2):  # beside the first, which has a track already
        land = parts.soic(16).lands[pin]
        layout.track("top", 0.3, "ABC"[pin], (25 + land.x, 15 + land.y), (15.0, 15 + land.y))

    (one,) = seen(NAME, facts_of(layout, tmp_path, without_words(layout)), on_grid())

    assert one.message.startswith("3 pads without a hole")
    assert (one.state, one.side) == (State.NOT_MAKEABLE, "top")


@pytest.mark.parametrize(("apart", "told"), [(2.84, True), (1.2, False), (4.0, False)])
def test_two_pads_that_nobody_names_are_a_chip_where_they_stand_alone(
    apart: float, told: bool, tmp_path: Path
) -> None:
    layout = beside(two_pads(apart))
    layout.track("top", 0.4, "B", (25.0 + apart / 2, 15.0), (30.0, 5.0))

    found = seen(NAME, facts_of(layout, tmp_path, without_words(layout)), on_grid())

    if told:
        (one,) = found
        assert (one.state, one.x, one.y) == (State.MARGINAL, 25.0, 15.0)
        assert one.message == (
            "2 pads without a hole lie 2.84 mm apart, perfboard has holes 2.54 mm apart"
        )
        assert one.remedy == "Use a part with leads, or solder it across two holes"
    else:
        assert [(one.state, one.x) for one in found] == [(State.NOT_MAKEABLE, None)]


def test_without_a_drill_file_every_pad_might_be_flat() -> None:
    facts = standing([("J1.1", "A", 10, 10), ("J1.2", "B", 12.54, 10)], read=False)

    (one,) = unchecked(NAME, facts, on_grid())

    assert one == Unchecked("parts without leads", "no drill file")
    assert seen(NAME, facts, on_grid()) == []


def test_a_profile_without_a_pitch_leaves_it_unchecked() -> None:
    (one,) = unchecked(NAME, standing([("J1.1", "A", 10, 10)]), on_grid(pitch=None))

    assert one.why == "the profile sets no grid.pitch"
    assert rule(NAME).methods == ("perfboard",)


def test_the_bad_sample_tells_the_transistor() -> None:
    board = read_board([ROOT / "samples" / "rules" / NAME / "bad"])

    (one,) = seen(NAME, measure(board), load_profile("perfboard"))

    assert one.pins == ("Q1",)
    assert (one.x or 0, one.y or 0) == pytest.approx((17.78, 5.08), abs=0.1)
