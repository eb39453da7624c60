from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from shapely import affinity

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, cutting_out, edged, unchecked
from tests.handmade import seen

NAME = "crowded-panel"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def panel(*apart: float) -> shapely.MultiPolygon:
    boards, left = [BOX], 0.0
    for gap in apart:
        left += 40 + gap
        boards.append(affinity.translate(BOX, left, 0))
    return shapely.MultiPolygon(boards)


@pytest.mark.parametrize(
    ("apart", "caught"), [(0.4, True), (0.994, True), (0.996, False), (1.0, False), (5.0, False)]
)
def test_boards_as_far_apart_as_the_cutter_pass(apart: float, caught: bool) -> None:
    # The cutter goes round each board on its outside: geometry.
    found = seen(NAME, edged(panel(apart)), cutting_out(1.0))

    assert [one.state for one in found] == [State.MARGINAL] * caught


def test_the_message_tells_gap_limit_and_remedy() -> None:
    (found,) = seen(NAME, edged(panel(0.4)), cutting_out(1.0))

    assert found.message == (
        "Boards 0.400 mm apart, the outline cutter is 1.00 mm: it takes 0.600 mm off the neighbour"
    )
    assert found.remedy == "Move them 0.60 mm apart"
    assert (found.x, found.y) == pytest.approx((40.2, 15.0))


def test_every_gap_is_told() -> None:
    found = seen(NAME, edged(panel(0.4, 2.0, 0.7)), cutting_out(1.0))

    assert sorted(one.measured or 0 for one in found) == pytest.approx([0.4, 0.7])


def test_one_board_has_no_neighbour() -> None:
    notch = BOX.difference(shapely.box(10, 20, 10.5, 40))

    assert seen(NAME, edged(notch), cutting_out(1.0)) == []


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    subject = "room between the boards of a panel"

    assert unchecked(NAME, edged(None), cutting_out()) == [Unchecked(subject, NO_EDGE)]
    assert unchecked(NAME, edged(BOX), cutting_out(None)) == [
        Unchecked(subject, "the profile sets no outline.cutter")
    ]


def test_the_bad_sample_tells_its_gap() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    assert found.seen.measured == pytest.approx(0.6)
    assert (found.seen.x, found.seen.y) == pytest.approx((20.3, 8.0))
