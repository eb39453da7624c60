"""How many wires a board takes; n leads of a net are joined by n - 1 of whatever kind."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.findings import State
from checker.measure import measure
from checker.process import load_profile
from checker.read import read_board
from tests.gridded import PITCH, Lead, on_grid, standing
from tests.handmade import rule, seen
from tests.holed import unchecked

NAME = "many-wires"
ROOT = Path(__file__).parents[2]


def rail(net: str, y: float, *steps: int) -> list[Lead]:
    return [(f"{net}{step}.1", net, 10 + PITCH * step, y) for step in steps]


LEADS = [*rail("GND", 10.0, 0, 1, 2, 5, 9), *rail("VCC", 10.0 + 2 * PITCH, 0, 2, 4)]


@pytest.mark.parametrize(("most", "count"), [(3, 1), (4, 0), (5, 0)])
def test_wires_are_counted_and_neighbours_are_not(most: int, count: int) -> None:
    # GND: 0-1-2 are neighbours, so 2 wires to 5 and 9; VCC: 2 wires.
    found = seen(NAME, standing(LEADS), on_grid(most_wires=most))

    assert len(found) == count


def test_the_nets_that_take_most_are_named() -> None:
    (one,) = seen(NAME, standing(LEADS), on_grid(most_wires=1))

    assert one.message.startswith("4 wires between leads besides 2 joints of neighbours")
    assert one.message.endswith("GND 2, VCC 2")
    assert one.remedy == "Place 3 more leads 2.54 mm beside one of their net"
    assert one.state is State.MARGINAL


def test_one_wire_one_joint_and_one_lead_are_told_as_one() -> None:
    leads = [*rail("GND", 10.0, 0, 1), *rail("VCC", 10.0 + 2 * PITCH, 0, 2)]

    (one,) = seen(NAME, standing(leads), on_grid(most_wires=0))

    assert one.message.startswith("1 wire between leads besides 1 joint of neighbours")
    assert one.remedy == "Place 1 more lead 2.54 mm beside one of their net"


def test_of_many_nets_those_that_take_most_are_named_first() -> None:
    more = [*rail("IN", 10.0 + 4 * PITCH, 0, 2), *rail("OUT", 10.0 + 6 * PITCH, 0, 2, 4, 6)]

    (one,) = seen(NAME, standing([*LEADS, *more]), on_grid(most_wires=1))

    assert one.message.endswith("OUT 3, GND 2, VCC 2")


@pytest.mark.parametrize("extra", range(1, 6))
def test_another_lead_never_takes_fewer_joints(extra: int) -> None:
    more = [*LEADS, *rail("GND", 10 + 7 * PITCH, *range(0, 2 * extra, 2))]

    (one,) = seen(NAME, standing(more), on_grid(most_wires=1))

    assert one.message.startswith(f"{4 + extra} wires")


@pytest.mark.parametrize("key", ["pitch", "bend", "most_wires"])
def test_a_profile_without_the_limit_leaves_it_unchecked(key: str) -> None:
    (one,) = unchecked(NAME, standing(LEADS), on_grid(**{key: None}))

    assert one == Unchecked("number of wires", f"the profile sets no grid.{key}")
    assert rule(NAME).methods == ("perfboard",)


def test_holes_that_were_not_read_are_told() -> None:
    (one,) = unchecked(NAME, standing(LEADS, read=False), on_grid())

    assert one.why == "no drill file"


def test_the_bad_sample_takes_four_wires() -> None:
    folder = ROOT / "samples" / "rules" / NAME

    (one,) = seen(
        NAME, measure(read_board([folder / "bad"])), load_profile(folder / "profile.yaml")
    )

    assert one.message.startswith("4 wires between leads besides 0 joints")
    assert (one.x, one.y, one.nets) == (None, None, ("RAIL",))
