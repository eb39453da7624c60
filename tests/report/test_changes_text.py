from __future__ import annotations

import io
from typing import Any

import pytest
from msgspec.structs import replace

from checker.board import Unchecked
from checker.changes import Change
from checker.findings import Finding, Verdict
from checker.report import text
from checker.report.changes_text import changes_lines, changes_text
from tests.report import made

MARGINAL, MAKEABLE = Verdict.MARGINAL, Verdict.MAKEABLE


def change(**changes: Any) -> Change:
    return replace(Change("tiny", "cone", MARGINAL, MARGINAL), **changes)


def found(count: int, **changes: object) -> tuple[Finding, ...]:
    return tuple(made.finding(number, **changes) for number in range(count))


def lines(*changes: Change) -> list[str]:
    return text.render(changes_text(changes), None).splitlines()


@pytest.mark.parametrize(
    ("told", "line"),
    [
        ({}, "nothing has changed"),
        ({"gone": found(3)}, "3 findings gone"),
        ({"gone": found(1)}, "1 finding gone"),
        ({"better": ((found(1)[0],) * 2,) * 2}, "2 findings better"),
        ({"accepted": found(1)}, "1 finding accepted"),
        ({"gone": found(3), "accepted": found(1)}, "3 findings gone, 1 accepted"),
        ({"after": MAKEABLE}, "marginal -> makeable"),
        ({"gone": found(3), "after": MAKEABLE}, "3 findings gone; marginal -> makeable"),
        ({"after": Verdict.NOT_MAKEABLE}, "marginal -> not makeable"),
        ({"before": None}, "judged for the first time, marginal"),
        ({"checked": (Unchecked("drills", "none"),)}, "1 check made at last"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_has_changed_is_told_in_a_line(told: dict[str, object], line: str) -> None:
    assert lines(change(**told)) == [f"Since the last run: {line}"]


def test_all_of_it_stands_in_one_line_and_the_places_below() -> None:
    (before,) = new = found(1, nets=(), pins=())
    (after,) = found(1, measured=0.2, message="Gap 0.200 mm, cut 0.300 mm", nets=(), pins=())
    told = change(gone=found(3), new=new, worse=((before, after),), after=Verdict.NOT_MAKEABLE)

    shown = text.render(changes_text([told]), None)

    assert shown == (
        "Since the last run: 3 findings gone, 1 new, 1 worse; marginal -> not makeable\n"
        "   New\n"
        "      top     x    1.125  y    0.500  Gap 0.250 mm, cut 0.300 mm, between U1.1 and U1.2\n"
        "   Worse\n"
        "      top     x    1.125  y    0.500  Gap 0.200 mm, cut 0.300 mm; was 0.250 mm\n"
    )


def test_a_handful_of_places_is_shown_and_the_others_are_counted() -> None:
    worse = ((made.finding(1), made.finding(1)),)

    shown = lines(change(new=found(4), worse=worse * 4))

    assert sum(line.startswith("      top") for line in shown) == 5
    assert shown.index("   New") < shown.index("   Worse")
    assert shown[-1] == "   and 3 more places"


def test_what_is_no_longer_checked_is_told_with_its_reason() -> None:
    assert lines(change(unchecked=(Unchecked("drills", "no drill file"),))) == [
        "Since the last run: 1 check no longer made",
        "   No longer checked: drills: no drill file",
    ]


def test_of_several_boards_those_that_changed_are_named() -> None:
    assert lines(change(), change(board="other", gone=found(1))) == [
        "Since the last run, other with cone: 1 finding gone"
    ]


def test_of_several_boards_without_a_change_nothing_has_changed() -> None:
    assert lines(change(), change(board="other")) == ["Since the last run: nothing has changed"]


def test_for_a_log_every_board_has_a_line() -> None:
    assert changes_lines([change(), change(board="other", gone=found(1), after=MAKEABLE)]) == (
        "cutworthy: tiny with cone: since the last run nothing has changed\n"
        "cutworthy: other with cone: since the last run 1 finding gone; marginal -> makeable\n"
    )


def test_names_that_try_to_do_harm_stay_in_their_line() -> None:
    evil = change(board=made.EVIL, process=made.EVIL, new=found(1, message=made.EVIL))

    shown = text.render(changes_text([evil, evil]), None)

    assert len(changes_lines([evil]).splitlines()) == 1
    assert not {"\x1b", "\u202e"} & {*shown, *changes_lines([evil])}


def test_narrow_terminal_shows_message_below_place(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = io.StringIO()
    monkeypatch.setattr(terminal, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setenv("TERM", "dumb")

    shown = text.render(changes_text([change(new=found(1, nets=(), pins=()))]), terminal)

    assert shown.splitlines()[2:] == [
        "      top     x    1.125  y    0.500",
        "         Gap 0.250 mm, cut 0.300 mm, between U1.1 and U1.2",
    ]
