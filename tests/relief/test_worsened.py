"""What passes as no new finding: what was as narrow at its place, and was told of nearby."""

from __future__ import annotations

import numpy as np
import pytest

from checker.board import Board
from checker.findings import Finding, State
from checker.read import read_package
from checker.relief.worsened import FAR, worsened
from checker.severity import Severity
from tests.accepted.made import finding
from tests.relief.made import at, layer, package_of, region

GAP = 0.15  # mm between a trace along y = 0 and a pour above it
EDGE = 0.25 + GAP


def board(*, from_x: float = -1.0, pen: float = 0.5, notch: float | None = None) -> Board:
    """A trace of 20 mm and a pour beside it.

    Args:
        from_x: where the pour begins to be near; left of it it stands 0.3 mm back.
        pen: width of the trace.
        notch: x of a bite of 0.4 mm into the trace from below.
    """
    back = EDGE + 0.3
    corners = [(-1, back), (from_x, back), (from_x, EDGE), (21, EDGE), (21, 5), (-1, 5), (-1, back)]
    lines = [f"%ADD10C,{pen:.6f}*%", "%ADD11C,0.400000*%", "G01*"]
    lines += ["%TO.N,GND*%", *region(corners), "%TO.N,VCC*%", "D10*", at(0, 0, 2), at(20, 0, 1)]
    if notch is not None:
        lines += ["%LPC*%", "D11*", at(notch, -pen / 2, 3), "%LPD*%"]
    return read_package(package_of({"top.gbr": layer("top", *lines)}), {})


def gap(name: str, x: float, **changes: object) -> Finding:
    """A gap of the two nets, short at x."""
    marginal = {"severity": Severity.WARNING, "state": State.MARGINAL}
    place = {"x": x, "y": 0.3, "measured": GAP, "pins": ()}
    return finding(name, **{"rule": "tight-gap", **marginal, **place, **changes})


def neck(name: str, x: float) -> Finding:
    """A trace too narrow at x."""
    return finding(name, rule="thin-copper", x=x, y=0.0, measured=0.2, nets=("VCC",), pins=())


def spoiled(
    before: list[Finding], after: list[Finding], old: Board | None = None, new: Board | None = None
) -> list[str]:
    old = old or board()
    new = new or old
    same = [np.arange(len(one.islands)) for one in new.copper]
    return [one.id for one in worsened(before, after, old, new, same)]


def test_what_is_left_of_a_gap_told_nearby_is_not_new() -> None:
    assert spoiled([gap("a", 6)], [gap("b", 10)]) == []


def test_a_gap_told_farther_off_is_no_excuse_where_copper_was_taken() -> None:
    thinner = board(pen=0.48)

    assert spoiled([gap("a", 4)], [gap("b", 4 + FAR - 0.1)], new=thinner) == []
    assert spoiled([gap("a", 4)], [gap("b", 4 + FAR + 0.1)], new=thinner) == ["b"]


def test_a_gap_may_be_told_farther_off_where_nothing_was_taken() -> None:
    assert spoiled([gap("a", 4)], [gap("b", 4 + FAR + 0.1)]) == []


def test_a_gap_that_was_wider_at_its_place_is_new() -> None:
    wider = board(from_x=13.0)

    assert spoiled([gap("a", 6)], [gap("b", 10)], wider) == ["b"]


def test_a_gap_of_which_nothing_was_told_is_new() -> None:
    assert spoiled([], [gap("b", 10)]) == ["b"]


def test_a_gap_of_other_nets_is_no_excuse() -> None:
    other = gap("a", 6, nets=("GND", "A"))

    assert spoiled([other], [gap("b", 10)]) == ["b"]


def test_one_gap_makes_up_for_one_only() -> None:
    assert spoiled([gap("a", 8)], [gap("b", 5), gap("c", 11)]) == ["c"]


def test_a_gap_told_nearby_still_will_do_where_another_of_its_side_is_gone() -> None:
    gone = gap("x", 1, nets=("GND", "A"))

    assert spoiled([gap("a", 8), gone], [gap("a", 8), gap("b", 11)]) == []
    assert spoiled([gap("a", 8)], [gap("a", 8), gap("b", 11)]) == ["b"]


def test_what_is_left_of_a_gap_weighs_no_more_than_it() -> None:
    heavy = gap("b", 10, rule="uncuttable-gap", severity=Severity.ERROR, state=State.NOT_MAKEABLE)

    assert spoiled([gap("a", 6)], [heavy]) == ["b"]


def test_what_narrows_at_its_place_is_worse() -> None:
    assert spoiled([gap("a", 6)], [gap("a", 6, measured=GAP - 0.01)]) == ["a"]


def test_copper_as_narrow_as_before_may_be_told_elsewhere() -> None:
    assert spoiled([neck("a", 3)], [neck("b", 15)]) == []


@pytest.mark.parametrize("notch", [15.0, 15.2])
def test_copper_that_was_taken_where_it_is_told_is_new(notch: float) -> None:
    assert spoiled([neck("a", 3)], [neck("b", 15)], new=board(notch=notch)) == ["b"]


def test_copper_told_twice_is_new_once() -> None:
    assert spoiled([neck("a", 3)], [neck("b", 10), neck("c", 15)]) == ["c"]


def test_a_finding_of_another_rule_is_new() -> None:
    edge = finding("b", rule="copper-at-edge", x=15.0, y=0.0, nets=("VCC",), pins=())

    assert spoiled([neck("a", 3)], [edge]) == ["b"]
