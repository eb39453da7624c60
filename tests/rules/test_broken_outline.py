from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, edged, unchecked
from tests.handmade import PLAIN, seen

NAME = "broken-outline"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
# Gerber layer format, section on the profile: draws and arcs that connect exactly.


@pytest.mark.parametrize("outline", [BOX, None], ids=["closed for the check", "too wide"])
def test_every_opening_is_told_where_it_is(outline: shapely.Polygon | None) -> None:
    board = edged(outline, openings=((12.0, 0.0, 0.4), (40.0, 9.0, 0.06)))

    wide, fine = seen(NAME, board, PLAIN)

    assert (wide.x, wide.y, wide.measured, wide.limit) == (12.0, 0.0, 0.4, 0.0)
    assert wide.message == (
        "Edge open by 0.400 mm, one of 2, a closed line has openings of 0.000 mm"
    )
    assert wide.remedy == "Join the two ends, 0.400 mm apart"
    assert (fine.x, fine.y, fine.state) == (40.0, 9.0, State.NOT_MAKEABLE)
    assert unchecked(NAME, board, PLAIN) == []


def test_a_single_opening_is_one_of_no_others() -> None:
    (found,) = seen(NAME, edged(BOX, openings=((12.0, 0.0, 0.4),)), PLAIN)

    assert found.message == "Edge open by 0.400 mm, a closed line has openings of 0.000 mm"


def test_a_closed_edge_is_silent_and_so_are_several_boards() -> None:
    panel = shapely.MultiPolygon([BOX, shapely.box(50, 0, 60, 30)])

    assert seen(NAME, edged(BOX), PLAIN) == []
    assert seen(NAME, edged(panel), PLAIN) == []


def test_an_edge_that_crosses_itself_is_told_where_it_does() -> None:
    bow = shapely.MultiPolygon(
        [
            shapely.Polygon([(0, 0), (10, 10), (0, 20)]),
            shapely.Polygon([(10, 10), (20, 0), (20, 20)]),
        ]
    )

    (found,) = seen(NAME, edged(bow), PLAIN)

    assert (found.x, found.y) == (10.0, 10.0)
    assert found.state is State.NOT_MAKEABLE


def test_no_edge_at_all_is_not_checked() -> None:
    assert unchecked(NAME, edged(None), PLAIN) == [Unchecked("closed edge", NO_EDGE)]


def profile(*lines: tuple[tuple[float, float], ...]) -> str:
    text = "%TF.FileFunction,Profile,NP*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.1*%\nG01*\nD10*\n"
    for first, *rest in lines:
        text += f"X{first[0] * 1e6:.0f}Y{first[1] * 1e6:.0f}D02*\n"
        text += "".join(f"X{x * 1e6:.0f}Y{y * 1e6:.0f}D01*\n" for x, y in rest)
    return text + "M02*\n"


@pytest.mark.parametrize(("gap", "told"), [(0.0, []), (0.04, []), (0.2, [0.2]), (3.0, [3.0])])
def test_openings_of_a_profile_as_read(tmp_path: Path, gap: float, told: list[float]) -> None:
    top = "%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,2*%\n"
    (tmp_path / "top.gbr").write_text(top + "D10*\nX10000000Y10000000D03*\nM02*\n")
    ends = ((12 + gap / 2, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0), (0.0, 0.0))
    (tmp_path / "edge.gbr").write_text(profile((*ends, (12 - gap / 2, 0.0))))

    found = check(read_board([tmp_path]), load_profile("cone-30-0.1")).findings
    found = tuple(one for one in found if one.rule == NAME)

    assert [one.seen.measured for one in found] == pytest.approx(told)
    assert all((one.seen.x, one.seen.y) == pytest.approx((12.0, 0.0)) for one in found)


@pytest.mark.parametrize(
    ("corners", "at"),
    [
        (((0, 0), (30, 20), (30, 0), (0, 20), (0, 0)), (15.0, 10.0)),
        (((0, 0), (30, 0), (30, 20), (20, 20), (25, 25), (15, 25), (20, 20), (0, 20)), (20, 20)),
        (((0, 0), (30, 0), (30, 20), (20, 20), (25, 15), (15, 15), (20, 20), (0, 20)), (20, 20)),
    ],
    ids=["bow-tie, the copper beside it", "loop outside", "loop inside"],
)
def test_a_profile_that_crosses_itself_as_read(
    tmp_path: Path, corners: tuple[tuple[float, float], ...], at: tuple[float, float]
) -> None:
    top = "%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,2*%\n"
    (tmp_path / "top.gbr").write_text(
        top + "D10*\nX15000000Y4000000D03*\nX15000000Y8000000D03*\nM02*\n"
    )
    (tmp_path / "edge.gbr").write_text(profile((*corners, corners[0])))

    found = check(read_board([tmp_path]), load_profile("cone-30-0.1")).findings

    told = [one.seen for one in found if one.rule == NAME]
    assert [(one.x, one.y) for one in told] == [pytest.approx(at)]
    assert told[0].state is State.NOT_MAKEABLE


def test_the_bad_sample_tells_its_opening() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    assert found.seen.measured == pytest.approx(0.3)
    assert (found.seen.x, found.seen.y) == pytest.approx((15.0, 0.0))
