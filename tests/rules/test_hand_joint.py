from __future__ import annotations

from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from samples.layout import Layout
from tests.handmade import seen
from tests.holed import hit, holed, unchecked
from tests.joined import VIA, facts_of, joining, leap, without_words

NAME = "hand-joint"
CASE = Path(__file__).parents[2] / "samples" / "rules" / NAME


def stitched(vias: int) -> Layout:
    """A strip on the top and one on the bottom, joined by as many vias."""
    board = Layout("strips", (10.0 + 4.0 * vias, 12.0))
    for side in ("top", "bottom"):
        board.track(side, 1.0, "GND", (5.0, 6.0), (5.0 + 4.0 * (vias - 1), 6.0))
    for k in range(vias):
        board.via(5.0 + 4.0 * k, 6.0, "GND", *VIA)
    return board


@pytest.mark.parametrize(("most", "caught"), [(1, True), (2, False), (3, False)])
def test_as_many_joints_as_allowed_pass(tmp_path: Path, most: int, caught: bool) -> None:
    found = seen(NAME, facts_of(leap(), tmp_path), joining(most=most))

    assert len(found) == caught


def test_leads_to_be_soldered_on_both_sides_count_and_others_do_not(tmp_path: Path) -> None:
    layout = leap(over_vias=False)  # J1 and J2 on the top alone
    layout.track("bottom", 0.8, "LINE", (5.0, 12.0), (5.0, 18.0))

    assert seen(NAME, facts_of(layout, tmp_path), joining(most=1)) == []
    layout.track("bottom", 0.8, "LINE", (35.0, 12.0), (35.0, 18.0))
    (found,) = seen(NAME, facts_of(layout, tmp_path), joining(most=1))
    assert found.message == ("2 joints of both sides by hand, the profile allows 1: 2 leads")


@pytest.mark.parametrize(
    ("vias", "most", "remedy"),
    [
        (5, 2, "Leave out 3 of the 4 that join what others join already"),
        (5, 1, "Leave out 4 of the 4 that join what others join already"),
    ],
)
def test_the_remedy_counts_what_others_join_already(
    tmp_path: Path, vias: int, most: int, remedy: str
) -> None:
    (found,) = seen(NAME, facts_of(stitched(vias), tmp_path), joining(most=most))

    assert found.remedy == remedy
    assert found.state is State.REMARK
    assert (found.x, found.side) == (None, None)


def test_where_none_is_spare_nets_must_stay_on_one_side(tmp_path: Path) -> None:
    (found,) = seen(NAME, facts_of(leap(), tmp_path), joining(most=1))

    assert found.remedy == "Lay 1 of them out to stay on one side"


def test_both_remedies_together(tmp_path: Path) -> None:
    layout = leap()
    layout.via(20.0, 22.5, "FAR", *VIA)
    layout.via(26.0, 22.5, "FAR", *VIA)
    for side in ("top", "bottom"):
        layout.track(side, 0.8, "FAR", (20.0, 22.5), (26.0, 22.5))

    (found,) = seen(NAME, facts_of(layout, tmp_path), joining(most=1))

    assert found.remedy == (
        "Leave out the 1 that join what others join already and lay 2 more out to stay on one side"
    )


def test_holes_of_which_nobody_says_what_they_are_count_too(tmp_path: Path) -> None:
    layout = leap()

    (found,) = seen(NAME, facts_of(layout, tmp_path, without_words(layout)), joining(most=1))

    assert found.message.endswith(": 2 other holes")


def test_without_a_limit_it_is_unchecked(tmp_path: Path) -> None:
    assert len(unchecked(NAME, facts_of(leap(), tmp_path), joining())) == 1


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert [type(one) for one in unchecked(NAME, holed(read=False), joining(most=1))] == [Unchecked]


def test_a_board_of_one_side_has_no_such_joints() -> None:
    board = holed(hit(1, 1, 0.8), sides=("bottom",))

    assert seen(NAME, board, joining(most=1)) == []
    assert unchecked(NAME, board, joining()) == []


def test_the_sample_tells_how_many() -> None:
    report = check(read_board([CASE / "bad"]), load_profile(CASE / "profile.yaml"))

    (found,) = report.findings
    assert found.seen.message == "6 joints of both sides by hand, the profile allows 4: 6 vias"
    assert report.verdict.value == "makeable"
