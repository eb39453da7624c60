from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.changes import Change, changes_of
from checker.findings import Accepted, Finding, Report, State, Verdict
from tests.report import made

BOARD = made.board()
FAR = 50.0  # mm; farther than any place moves from one run to the next


def placed(number: int, x: float = 0.0, **changes: object) -> Finding:
    return made.finding(number, x=FAR * number + x, y=1.0, **changes)


def report(*findings: Finding, **changes: Any) -> Report:
    return replace(made.report(BOARD, findings), **changes)


def moved(report: Report, x: float, y: float, *, files: bool = True) -> Report:
    """The report on a board drawn elsewhere, or whose lower left corner alone has moved."""
    left, bottom, right, top = report.board.box
    far = (x, y) if files else (0.0, 0.0)
    box = (left + x, bottom + y, right + far[0], top + far[1])
    findings = tuple(
        replace(
            one,
            id=f"{one.id}-moved",
            seen=replace(one.seen, x=(one.seen.x or 0) + far[0], y=(one.seen.y or 0) + far[1]),
        )
        for one in report.findings
    )
    return replace(report, board=replace(report.board, box=box), findings=findings)


def change(before: Report, after: Report) -> Change:
    (found,) = changes_of([before], [after])
    return found


def test_same_answer_is_no_change() -> None:
    assert not change(report(placed(1), placed(2)), report(placed(1), placed(2))).is_any


def test_findings_are_gone_or_new_or_stay() -> None:
    found = change(report(placed(1), placed(2)), report(placed(2), placed(3)))

    assert found.gone == (placed(1),)
    assert found.new == (placed(3),)
    assert not found.worse + found.better


def test_finding_that_falls_further_short_is_worse_and_the_other_way_round_better() -> None:
    near, far = report(placed(1, measured=0.28)), report(placed(1, measured=0.2))

    assert change(near, far).worse == ((near.findings[0], far.findings[0]),)
    assert change(near, far).better == ()
    assert change(far, near).better == ((far.findings[0], near.findings[0]),)
    assert change(far, near).worse == ()


def test_finding_that_is_lighter_and_falls_further_short_is_worse() -> None:
    before = report(placed(1, state=State.NOT_MAKEABLE, measured=0.28))
    after = report(placed(1, state=State.MARGINAL, measured=0.2))

    assert change(before, after).worse
    assert not change(before, after).better


def test_verdict_is_told_before_and_after() -> None:
    found = change(report(verdict=Verdict.MARGINAL), report(verdict=Verdict.MAKEABLE))

    assert (found.before, found.after) == (Verdict.MARGINAL, Verdict.MAKEABLE)
    assert found.is_any


@given(
    st.floats(-200, 200), st.floats(-200, 200), st.lists(st.integers(0, 9), unique=True, min_size=1)
)
def test_move_of_the_whole_board_changes_no_finding(x: float, y: float, places: list[int]) -> None:
    before = report(*map(placed, places))

    assert not change(before, moved(before, x, y)).is_any


def test_board_that_grows_to_the_left_has_the_same_findings() -> None:
    before = report(placed(1), placed(2))

    assert not change(before, moved(before, -20.0, -5.0, files=False)).is_any


def test_move_is_told_from_a_change_beside_it() -> None:
    before = report(placed(1), placed(2), placed(3))

    found = change(before, moved(report(placed(2), placed(3), placed(4)), 30.0, 10.0))

    assert found.gone == (placed(1),)
    assert [one.id for one in found.new] == [f"{placed(4).id}-moved"]


def test_finding_that_was_accepted_since_is_not_gone() -> None:
    waived = Accepted(placed(1), True, "seen to", "waivers.yaml:1")

    found = change(report(placed(1), placed(2)), report(accepted=(waived,)))

    assert found.accepted == (placed(1),)
    assert found.gone == (placed(2),)


def test_finding_that_is_accepted_no_more_is_new() -> None:
    waived = Accepted(placed(1), True, "seen to", "waivers.yaml:1")

    assert change(report(accepted=(waived,)), report(placed(1))).new == (placed(1),)


def test_what_cannot_be_checked_any_more_is_a_change_and_so_is_what_now_can() -> None:
    drills = Unchecked("drills", "no drill file")

    lost = change(report(), report(unchecked=(drills,)))
    won = change(report(unchecked=(drills,)), report())

    assert (lost.unchecked, lost.checked, lost.is_any) == ((drills,), (), True)
    assert (won.unchecked, won.checked, won.is_any) == ((), (drills,), True)


def test_another_reason_for_not_checking_a_thing_is_no_change() -> None:
    before = report(unchecked=(Unchecked("drills", "no drill file"),))

    assert not change(before, report(unchecked=(Unchecked("drills", "an empty one"),))).is_any


def test_boards_and_processes_are_compared_each_with_its_own() -> None:
    first, second = report(placed(1)), report(placed(2))
    second = replace(second, process=made.process(name="flat"))

    found = changes_of([second, first], [first, second])

    assert [(one.board, one.process, one.is_any) for one in found] == [
        ("tiny", "cone", False),
        ("tiny", "flat", False),
    ]


@pytest.mark.parametrize("name", ["other board", "other process"])
def test_what_was_not_judged_before_has_no_new_findings(name: str) -> None:
    before = {
        "other board": made.report(made.board("other")),
        "other process": replace(report(), process=made.process(name="flat")),
    }[name]

    found = change(before, report(placed(1)))

    assert (found.before, found.new, found.is_any) == (None, (), True)
