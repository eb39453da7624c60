from __future__ import annotations

import pytest
from msgspec.structs import replace

from checker.board import Unchecked
from checker.process.shop import Feeds, Measured
from tests.handmade import cutting, rule, seen
from tests.rules.test_long_cut import SQUARE, milling

NAME = "blunt-tip"


@pytest.mark.parametrize(("life", "told"), [(0.400, 1), (0.401, 0)])
def test_a_tip_that_lasts_the_board_is_enough(life: float, told: int) -> None:
    # A square of 100 mm and one pass at 0.1 mm: 400 + 2 pi 0.1 = 400.6 mm.
    assert len(seen(NAME, SQUARE, milling(None, Feeds(life=life)))) == told


def test_remedy_counts_the_tips() -> None:
    (told,) = seen(NAME, SQUARE, milling(0.4, Feeds(life=0.3)))

    # Two passes, at 0.1 and 0.3 mm: 800 + 2 pi 0.4 = 802.5 mm.
    assert told.message == "Isolating cuts 0.8 m in 2 passes, a tip lasts 0.3 m"
    assert told.remedy == "Plan for 3 tips and change after 0.3 m, setting the depth anew"


def test_what_the_tip_had_cut_before_counts() -> None:
    process = milling(None, Feeds(life=0.5))
    worn = replace(process, measurement=Measured(cut_before=0.2))
    spent = replace(process, measurement=Measured(cut_before=0.6))

    fresh, (some,), (new,) = (seen(NAME, SQUARE, one) for one in (process, worn, spent))

    assert fresh == []
    assert some.message == (
        "Isolating cuts 0.4 m in 1 pass, a tip lasts 0.5 m, and this one had cut 0.2 m before it "
        "was measured"
    )
    assert some.remedy == "Plan for 2 tips and change after 0.3 m, setting the depth anew"
    assert new.remedy == "Plan for 2 tips and begin with a new one, setting the depth anew"


def test_without_a_life_it_says_so() -> None:
    assert list(rule(NAME).check(SQUARE, milling(None, Feeds()))) == [
        Unchecked("wear of the bit", "the profile sets no feeds.life")
    ]


def test_a_beam_has_no_tip() -> None:
    assert list(rule(NAME).check(SQUARE, cutting(0.1, method="laser"))) == []
