from __future__ import annotations

from pathlib import Path

import pytest

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.shop import Stock
from checker.read import read_board
from tests.edged import cutting_out, edged, unchecked
from tests.handmade import seen

NAME = "deep-pass"
RULE = Path(__file__).parents[2] / "samples" / "rules" / NAME


@pytest.mark.parametrize(
    ("cutter", "deep", "caught"),
    [(1.0, 0.3, False), (1.0, 0.5, False), (1.0, 0.51, True), (0.8, 0.6, True), (3.0, 1.5, False)],
)
def test_a_pass_takes_half_the_diameter(cutter: float, deep: float, caught: bool) -> None:
    # Half the diameter in a full slot, common trade practice; 0.3 mm is reported for 1 mm.
    found = seen(NAME, edged(), cutting_out(cutter, pass_depth=deep))

    assert [one.state for one in found] == [State.MARGINAL] * caught


def test_the_message_tells_depth_limit_and_passes() -> None:
    process = cutting_out(0.8, stock=Stock(thickness=1.6), pass_depth=0.6)

    (found,) = seen(NAME, edged(), process)

    assert found.message == "Passes 0.60 mm deep, a cutter of 0.80 mm takes 0.40 mm"
    assert found.remedy == "Cut no deeper than 0.40 mm at a time, that is in 4 passes"
    assert (found.measured, found.limit, found.x) == (0.6, 0.4, None)


def test_without_a_thickness_the_passes_are_not_counted() -> None:
    (found,) = seen(NAME, edged(), cutting_out(1.0, pass_depth=0.8))

    assert found.remedy == "Cut no deeper than 0.50 mm at a time"


def test_a_pass_goes_no_deeper_than_the_laminate() -> None:
    thin = cutting_out(1.0, stock=Stock(thickness=0.4), pass_depth=0.8)

    assert seen(NAME, edged(), thin) == []


def test_what_the_profile_leaves_open_is_not_checked() -> None:
    subject = "depth of the outline's passes"

    assert unchecked(NAME, edged(), cutting_out(None, pass_depth=0.3)) == [
        Unchecked(subject, "the profile sets no outline.cutter")
    ]
    assert unchecked(NAME, edged(), cutting_out(1.0)) == [
        Unchecked(subject, "the profile sets no outline.pass_depth")
    ]


def test_the_bad_sample_tells_its_pass() -> None:
    bad = RULE / "bad"
    (found,) = check(read_board([bad]), load_profile(bad / "profile.yaml")).findings

    assert (found.seen.measured, found.seen.limit) == (1.6, 0.5)
