from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.methods import ETCHING, LASER
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Machine, Stock
from checker.read import read_board
from tests.coppered import Drawn, coppered
from tests.edged import cutting_out, edged, unchecked
from tests.gridded import on_grid
from tests.handmade import seen

NAME = "oversize-board"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def reaching(
    x: float, y: float, margin: float = 8.0, stock: tuple[float, float] | None = None
) -> Process:
    return cutting_out(1.0, Machine(travel=(x, y), margin=margin), Stock(size=stock))


@pytest.mark.parametrize(
    ("size", "states"),
    [
        ((162, 80), []),
        ((162.004, 80), []),
        ((162.01, 80), [State.MARGINAL]),
        ((80, 170), [State.MARGINAL]),
        ((178.004, 80), [State.MARGINAL]),
        ((178.01, 80), [State.NOT_MAKEABLE]),
    ],
    ids=["exactly", "within the error of drawing", "too wide", "too high", "on tape", "beyond"],
)
def test_a_board_that_just_fits_passes_and_on_tape_it_needs_no_margin(
    size: tuple[float, float], states: list[State]
) -> None:
    # Box and twice cutter and margin against the travel: 162 + 2 (1 + 8) = 180 = 178 + 2.
    found = seen(NAME, edged(shapely.box(0, 0, *size)), reaching(180, 180))

    assert [one.state for one in found] == states


@pytest.mark.parametrize("method", [LASER, ETCHING])
def test_a_beam_and_a_film_reach_the_board_alone(method: str) -> None:
    # 176 + 2 x 2 = 180: what cuts out the board afterwards needs no room in the field.
    process = replace(reaching(180, 180, margin=2.0, stock=(300, 300)), method=method)

    assert seen(NAME, edged(shapely.box(0, 0, 176, 80)), process) == []
    (rim,) = seen(NAME, edged(shapely.box(0, 0, 178, 80)), process)
    (out,) = seen(NAME, edged(shapely.box(0, 0, 181, 80)), process)
    assert (rim.state, out.state) == (State.MARGINAL, State.NOT_MAKEABLE)
    assert rim.remedy == "Shorten it by 2.00 mm, or part it"
    (blank,) = seen(
        NAME, edged(shapely.box(0, 0, 176, 80)), replace(process, stock=Stock(size=(181, 90)))
    )
    assert blank.message.endswith("needs 182.0 mm with 3.0 mm around it, the blank is 181.0 mm")


def test_copper_that_is_taken_for_the_board_is_called_copper() -> None:
    copper = Drawn(shapely.box(5, 5, 205, 85), "GND")

    (found,) = seen(NAME, coppered(top=[copper]), reaching(180, 180))

    assert found.message == (
        "Copper of 80.0 x 200.0 mm, taken for the board for want of an edge, needs 218.0 mm with "
        "9.0 mm around it, the machine reaches 180.0 mm"
    )
    assert found.remedy == "Export the board's edge, or shorten it by 38.00 mm, or part it"


@pytest.mark.parametrize("size", [(160.0, 100.0), (100.0, 160.0)])
def test_a_board_may_be_turned_by_a_quarter(size: tuple[float, float]) -> None:
    # A Eurocard on a router of 180 x 300 mm, and on one of 152 x 203 mm.
    board = edged(shapely.box(0, 0, *size))

    assert seen(NAME, board, reaching(300, 180)) == []
    assert seen(NAME, board, reaching(152, 203)) == []
    assert len(seen(NAME, board, reaching(110, 203))) == 1


def test_the_message_tells_need_limit_and_remedy() -> None:
    (found,) = seen(NAME, edged(shapely.box(5, 5, 205, 85)), reaching(180, 180))

    assert found.message == (
        "Board of 80.0 x 200.0 mm needs 218.0 mm with 9.0 mm around it, the machine reaches "
        "180.0 mm"
    )
    assert found.remedy == "Shorten it by 38.00 mm, or part it"
    assert (found.measured, found.limit, found.x) == (218.0, 180.0, None)


def test_tape_needs_no_room_beside_the_board() -> None:
    (found,) = seen(NAME, edged(shapely.box(0, 0, 175, 80)), reaching(180, 180))

    assert found.remedy == "Shorten it by 13.00 mm, or hold it with tape under it instead of clamps"


def test_the_blank_counts_too() -> None:
    board = edged(shapely.box(0, 0, 100, 80))

    assert seen(NAME, board, reaching(180, 180, stock=(120, 100))) == []
    (found,) = seen(NAME, board, reaching(180, 180, stock=(100, 110)))
    assert "the blank is 110.0 mm" in found.message


@pytest.mark.parametrize(
    ("size", "lacks"), [((160, 100), []), ((160.004, 100), []), ((100, 163), [3.0])]
)
def test_a_perfboard_is_cut_to_size_without_room_round_it(
    size: tuple[float, float], lacks: list[float]
) -> None:
    # Sold as 100 x 160 mm, the plug-in card of IEC 60297-3.
    found = seen(NAME, edged(shapely.box(0, 0, *size)), on_grid())

    assert [(one.measured or 0) - (one.limit or 0) for one in found] == pytest.approx(lacks)
    assert [one.message for one in found] == [
        "Board of 100.0 x 163.0 mm needs 163.0 mm, the blank is 160.0 mm"
    ] * len(lacks)


def test_a_perfboard_of_unknown_size_is_unchecked() -> None:
    process = replace(on_grid(), stock=Stock())

    (one,) = unchecked(NAME, edged(shapely.box(0, 0, 50, 50)), process)

    assert one == Unchecked("size of the board", "the profile sets no stock.size")


def test_without_an_edge_the_copper_is_taken() -> None:
    board = edged(None, [shapely.box(0, 0, 1, 1), shapely.box(0, 200, 1, 201)])

    (found,) = seen(NAME, board, reaching(180, 180))

    assert found.measured == pytest.approx(219.0)


def test_what_the_profile_leaves_open_is_not_checked() -> None:
    board = edged()

    assert unchecked(NAME, board, cutting_out(None, Machine(travel=(180, 180)))) == [
        Unchecked("size of the board", "the profile sets no outline.cutter")
    ]
    assert unchecked(NAME, board, cutting_out(1.0)) == [
        Unchecked("size of the board", "the profile sets no machine.travel")
    ]


def test_the_bad_sample_tells_its_length() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    assert (found.seen.measured, found.seen.limit) == pytest.approx((172 + 2 * 9, 180))
