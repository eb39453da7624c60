from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.read import read_board
from tests.handmade import seen
from tests.holed import drilling, hit, holed, slot, unchecked

NAME = "many-drills"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def board(*sizes: float) -> Facts:
    return holed(*(hit(3.0 * k, 10, size) for k, size in enumerate(sizes)))


@pytest.mark.parametrize(
    ("most", "caught"), [(3, True), (4, False), (5, False)], ids=["over", "exactly", "under"]
)
def test_more_sizes_than_wished_are_a_remark(most: int, caught: bool) -> None:
    found = seen(NAME, board(0.6, 0.8, 0.8, 1.0, 1.2), drilling(9.0, most_sizes=most))

    assert [one.state for one in found] == [State.REMARK] * caught


def test_the_remedy_joins_the_nearest_sizes_into_the_wider() -> None:
    (found,) = seen(NAME, board(0.6, 0.7, 0.9, 0.9, 1.0, 3.0), drilling(9.0, most_sizes=3))

    assert found.message == (
        "5 sizes of drills (0.60, 0.70, 0.90, 1.00, 3.00 mm), wished 3 at most"
    )
    assert found.remedy == "Draw 1 hole of 0.60 mm as 0.70 mm, 2 holes of 0.90 mm as 1.00 mm"
    assert (found.x, found.y, found.side) == (None, None, None)


def test_sizes_in_a_row_all_become_the_widest() -> None:
    (found,) = seen(NAME, board(0.6, 0.7, 0.8, 3.0), drilling(9.0, most_sizes=2))

    assert found.remedy == "Draw 1 hole of 0.60 mm as 0.80 mm, 1 hole of 0.70 mm as 0.80 mm"


def test_a_long_remedy_is_cut_short() -> None:
    (found,) = seen(NAME, board(*(0.5 + 0.1 * k for k in range(7))), drilling(9.0, most_sizes=1))

    assert found.remedy.count(" as ") == 4
    assert found.remedy.endswith(", 3 more sizes as the next")


def test_one_drill_serves_what_is_within_its_tolerance() -> None:
    # Inch and metric libraries mixed: 35 mil, 0.9 mm and 36 mil are one drill of 0.9 mm.
    mixed = board(0.889, 0.9, 0.9144, 1.016, 1.0)

    assert seen(NAME, mixed, drilling(0.9, 1.0, tolerance=0.05, most_sizes=2)) == []
    assert len(seen(NAME, mixed, drilling(0.9, 1.0, tolerance=0.001, most_sizes=2))) == 1


def test_milled_holes_and_slots_take_no_drill() -> None:
    facts = holed(hit(10, 10, 0.8), hit(20, 10, 3.2), slot((30, 10), (34, 10), 0.6))

    assert seen(NAME, facts, drilling(0.8, cutter=1.0, most_sizes=1)) == []
    assert len(seen(NAME, facts, drilling(0.8, most_sizes=1))) == 1


def fewest(sizes: list[int], owned: list[int], tolerance: int) -> int:
    """By trying every choice of drills; what none serves takes one of its own."""
    served = {size for size in sizes if any(abs(size - one) <= tolerance for one in owned)}
    for count in range(len(owned) + 1):
        for chosen in combinations(owned, count):
            if all(any(abs(size - one) <= tolerance for one in chosen) for size in served):
                return count + len(set(sizes) - served)
    raise AssertionError


@given(
    st.lists(st.integers(30, 130), min_size=1, max_size=8),
    st.lists(st.integers(30, 130), min_size=1, max_size=6, unique=True),
    st.integers(0, 15),
)
@settings(deadline=None)
def test_the_drills_counted_are_the_fewest(
    sizes: list[int], owned: list[int], tolerance: int
) -> None:
    process = drilling(*sorted(one / 100 for one in owned), tolerance=tolerance / 100, most_sizes=1)
    wanted = fewest(sizes, owned, tolerance)

    found = seen(NAME, board(*(size / 100 for size in sizes)), process)

    assert [one.message.split()[0] for one in found] == [str(wanted)] * (wanted > 1)


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    assert unchecked(NAME, board(0.8), drilling(0.8)) == [
        Unchecked("number of drills", "the profile sets no drills.most_sizes")
    ]
    assert unchecked(NAME, holed(read=False), drilling(0.8, most_sizes=2)) == [
        Unchecked("number of drills", "no drill file")
    ]


def test_the_bad_sample_counts_its_row() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # 0.6 to 1.2 mm in steps of 0.1; the default profile wishes six at most.
    assert found.seen.message.startswith("7 sizes of drills (0.60, ")
    assert found.seen.remedy == "Draw 1 hole of 0.60 mm as 0.70 mm"
