from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.board import Unchecked
from checker.causes import group
from checker.engine import check
from checker.findings import Finding, State
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Drills, Machine
from checker.read import read_board
from checker.severity import Severity
from tests.handmade import PLAIN, seen
from tests.holed import hit, holed, slot, unchecked

NAME = "missing-dowels"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def turning(dowels: float | None = 1.5, *sizes: float, layer_count: int = 2) -> Process:
    return replace(
        PLAIN,
        machine=Machine(dowels=dowels),
        drills=Drills(sizes or None),
        layer_count=layer_count,
    )


@pytest.mark.parametrize(
    ("apart", "caught"), [(59.9, True), (60.0, False), (90.0, False)], ids=["near", "just", "far"]
)
def test_two_holes_at_60_percent_of_the_longer_side_will_do(apart: float, caught: bool) -> None:
    # Pins at least 60 % of the board's length apart: common trade practice; the board is 100 mm.
    found = seen(NAME, holed(hit(5, 30, 3.0), hit(5 + apart, 30, 3.0)), turning())

    assert [one.state for one in found] == [State.MARGINAL] * caught


@pytest.mark.parametrize(
    ("size", "caught"), [(1.4, True), (1.5, False), (3.2, False)], ids=["thin", "just", "wide"]
)
def test_holes_for_the_thinnest_dowels_count(size: float, caught: bool) -> None:
    # ISO 2338 has dowel pins of 1.5 mm (from memory).
    found = seen(NAME, holed(hit(5, 30, size), hit(95, 30, size)), turning())

    assert bool(found) == caught


def test_holes_outside_the_outline_count() -> None:
    assert seen(NAME, holed(hit(-5, 30, 3.0), hit(105, 30, 3.0)), turning()) == []


def test_slots_do_not_count() -> None:
    ends = (slot((5, 30), (8, 30), 3.0), slot((92, 30), (95, 30), 3.0))

    assert len(seen(NAME, holed(*ends), turning())) == 1


def test_the_remedy_is_two_holes_beside_the_ends() -> None:
    (found,) = seen(NAME, holed(hit(5, 30, 3.0), hit(20, 38, 3.0)), turning(1.5, 1.0, 3.0))

    assert found.remedy == (
        "Add two holes of 3.00 mm beside the board, at -5.0, 30.0 and 105.0, 30.0"
    )
    assert found.message == (
        "Two sides want two holes of 1.50 mm or more, 60.0 mm apart or more, to be lined up by: "
        "no two lie farther apart than 17.0 mm"
    )
    assert found.measured == pytest.approx(17.0)
    assert found.limit == 60.0


@pytest.mark.parametrize("count", [0, 1])
def test_where_no_two_holes_fit_they_are_counted(count: int) -> None:
    (found,) = seen(NAME, holed(*[hit(5, 30, 3.0)] * count, hit(90, 30, 1.0)), turning())

    assert found.message.endswith(f"to be lined up by: {count} found")
    assert (found.measured, found.limit) == (None, None)


def test_the_remedy_mends_it() -> None:
    tall = (10.0, -80.0, 50.0, 20.0)
    bare = holed(box=tall)

    (found,) = seen(NAME, bare, turning())

    assert "at 30.0, -85.0 and 30.0, 25.0" in found.remedy
    assert seen(NAME, holed(hit(30, -85, 1.5), hit(30, 25, 1.5), box=tall), turning()) == []


def test_without_an_outline_the_copper_is_measured() -> None:
    (found,) = seen(NAME, holed(box=None), turning())

    assert "0.3 mm apart or more" in found.message  # 60 % of a square of 0.5 mm


def test_it_is_told_after_what_is_to_be_mended_on_the_board() -> None:
    (missing,) = seen(NAME, holed(), turning())
    narrow = replace(missing, cause="narrow", x=1.0, y=1.0, last=False)
    findings = [
        Finding("", rule, Severity.WARNING, one) for rule, one in ((NAME, missing), ("a", narrow))
    ]

    causes = group(findings)

    assert [cause.cause for cause in causes] == ["narrow", "no holes for dowels"]


def test_one_side_needs_no_dowels() -> None:
    assert seen(NAME, holed(sides=("bottom",)), turning()) == []
    assert unchecked(NAME, holed(sides=("bottom",)), turning(None)) == []


def test_a_process_for_one_side_leaves_it_to_the_layers() -> None:
    assert seen(NAME, holed(), turning(layer_count=1)) == []


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    assert unchecked(NAME, holed(), turning(None)) == [
        Unchecked("holes for dowels", "the profile sets no machine.dowels")
    ]
    assert unchecked(NAME, holed(read=False), turning()) == [
        Unchecked("holes for dowels", "no drill file")
    ]


def test_the_bad_sample_wants_two_holes_beside_it() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # The board is 40 x 24 mm: 60 % of the longer side are 24 mm.
    assert "24.0 mm apart or more" in found.seen.message
    assert found.seen.remedy.endswith("at -5.0, 12.0 and 45.0, 12.0")
