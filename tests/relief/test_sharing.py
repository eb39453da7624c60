"""Who gives how much: pours first, then traces by what each has to spare, and limits hold."""

from __future__ import annotations

import pytest
import shapely

from checker.process import load_profile
from checker.relief.make import Made
from tests.relief.made import PROFILE, at, layer, region, relieved

MOST = 0.246  # of the cut, and 5 um that drawing and measuring may be off: width 0.251
PEN = 0.256  # with 2 um of the census and 1 um of chords on either side, in whole micrometres
GAP = 0.15


def side_by_side(width: float, other: float) -> dict[str, str]:
    """Two traces of 10 mm, 0.15 mm apart."""
    y = (width + other) / 2 + GAP
    pens = [
        f"%TA.AperFunction,Conductor*%\n%ADD{number}C,{pen:.6f}*%\n%TD.AperFunction*%"
        for number, pen in ((10, width), (11, other))
    ]
    lines = ["G01*", "%TO.N,A*%", "D10*", at(0, 0, 2), at(10, 0, 1)]
    lines += ["%TO.N,B*%", "D11*", at(0, y, 2), at(10, y, 1)]
    return {"top.gbr": layer("top", *pens, *lines)}


def beside_a_pour(width: float) -> dict[str, str]:
    """A trace of 10 mm, 0.15 mm from a pour."""
    y = width / 2 + GAP
    pen = f"%TA.AperFunction,Conductor*%\n%ADD10C,{width:.6f}*%\n%TD.AperFunction*%"
    corners = ((-1, y), (11, y), (11, y + 5), (-1, y + 5), (-1, y))
    lines = ["G01*", "%TO.N,A*%", "D10*", at(0, 0, 2), at(10, 0, 1)]
    return {"top.gbr": layer("top", pen, *lines, "%TO.N,GND*%", *region(corners))}


def given(made: Made) -> dict[str, float]:
    return {one.kind: one.most for place in made.relief.opened for one in place.taken}


def test_the_cut_that_has_to_pass_is_the_widest_and_what_cannot_be_told() -> None:
    cut = load_profile(PROFILE).cut

    made = relieved(beside_a_pour(0.3))

    assert cut is not None
    assert cut.most == pytest.approx(MOST, abs=5e-4)
    assert made.relief.width == pytest.approx(MOST + 0.005, abs=1.1e-3)


def test_a_pour_gives_all_that_is_missing() -> None:
    made = relieved(beside_a_pour(0.5))

    assert given(made) == {"pour": pytest.approx(PEN - GAP, abs=2e-3)}


def test_two_traces_alike_give_half_each() -> None:
    made = relieved(side_by_side(0.5, 0.5))

    shares = [one.most for place in made.relief.opened for one in place.taken]
    assert shares == [pytest.approx((PEN - GAP) / 2, abs=2e-3)] * 2


def test_a_trace_with_nothing_to_spare_leaves_it_to_the_other() -> None:
    made = relieved(side_by_side(0.25, 0.6))

    shares = [one.most for place in made.relief.opened for one in place.taken]
    assert shares == [pytest.approx(PEN - GAP, abs=2e-3)]


def test_what_neither_trace_can_spare_is_told_with_what_is_missing() -> None:
    made = relieved(side_by_side(0.25, 0.25))

    (place,) = made.relief.left
    assert made.files == {}
    assert place.missing == pytest.approx(PEN - GAP, abs=2e-3)


def test_traces_keep_the_least_that_survives() -> None:
    made = relieved(side_by_side(0.34, 0.34))

    (place,) = made.relief.left
    assert made.files == {}
    assert place.missing == pytest.approx(PEN - GAP - (0.34 - 0.255), abs=3e-3)


def test_who_keeps_all_is_not_touched_not_even_round_its_bends() -> None:
    texts = beside_a_pour(0.16)
    bends = "\n".join(at(x, y, 1) for x, y in ((12, -1.5), (14, -1.5), (15, 0)))
    top = texts["top.gbr"].replace(at(10, 0, 1), at(10, 0, 1) + "\n" + bends)

    made = relieved({"top.gbr": top})

    was, now = (
        shapely.union_all([one for one in board.copper[0].islands if one.area < 5])
        for board in (made.relief.board, made.board)
    )
    assert made.files
    assert shapely.area(shapely.symmetric_difference(was, now)) == pytest.approx(0, abs=1e-9)
