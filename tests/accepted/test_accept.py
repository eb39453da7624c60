from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.accepted.accept import accept, once
from checker.accepted.baseline import Baseline, recorded
from checker.accepted.waiver import Waiver
from checker.board import Note, Unchecked
from checker.causes import group
from checker.findings import Finding, Report, State, Verdict
from checker.severity import Severity
from tests.accepted.made import FINDINGS, OTHERS, SOURCE, board, finding, moved, report
from tests.accepted.test_waivers import TODAY, waiver
from tests.report.made import process

GAP, LUCK = finding("gap"), finding("luck", x=40.0, rule="tight-gap", state=State.MARGINAL)
GND = waiver(nets=("GND",))


def known(*findings: Finding, **changes: object) -> Baseline:
    return recorded([report(*findings, **changes)], SOURCE)  # type: ignore[arg-type] # as made


def ids(findings: Sequence[Finding]) -> list[str]:
    return [one.id for one in findings]


def only(one: Report, waivers: Sequence[Waiver] = (), baseline: Baseline | None = None) -> Report:
    (answer,) = accept([one], waivers, baseline, TODAY)
    return answer


def test_nothing_to_accept_leaves_the_reports_as_they_are() -> None:
    reports = [report(GAP), report(LUCK, profile="other")]

    answers = accept(reports, [], None, TODAY)

    assert all(one is other for one, other in zip(answers, reports, strict=True))


def test_a_process_that_was_not_recorded_has_no_baseline() -> None:
    one = report(GAP, profile="other")

    assert only(one, baseline=known(GAP)) is one


def test_a_waived_finding_is_taken_out_with_reason_place_and_day() -> None:
    until = date(2027, 1, 1)

    answer = only(report(GAP, LUCK), [waiver(nets=("GND",), until=until)])

    assert ids(answer.findings) == ["luck"]
    (one,) = answer.accepted
    assert (one.finding, one.waived, one.why, one.where, one.until) == (
        GAP,
        True,
        "cut by hand",
        "hardware/.cutworthy.yaml:4",
        until,
    )


def test_a_known_finding_is_taken_out_with_the_baselines_file() -> None:
    answer = only(report(GAP, LUCK), baseline=known(GAP))

    assert ids(answer.findings) == ["luck"]
    assert [(one.finding, one.waived, one.where) for one in answer.accepted] == [
        (GAP, False, SOURCE)
    ]
    assert answer.known == {"gap": False}


def test_causes_are_made_of_the_findings_that_count() -> None:
    answer = only(report(GAP, LUCK), [GND])

    assert answer.causes == group([LUCK])


def test_a_waiver_goes_before_the_baseline() -> None:
    (one,) = only(report(GAP), [GND], known(GAP)).accepted

    assert one.waived


def test_of_two_waivers_the_first_has_the_finding() -> None:
    second = replace(GND, where="hardware/.cutworthy.yaml:9")

    (one,) = only(report(GAP), [GND, second]).accepted

    assert one.where == GND.where


@pytest.mark.parametrize(
    "changes",
    [
        {"measured": 0.24},
        {"limit": 0.31},
        {"severity": Severity.ERROR, "state": State.NOT_MAKEABLE},
    ],
)
def test_a_known_finding_that_got_worse_fails(changes: dict[str, object]) -> None:
    then = finding("gap", severity=Severity.WARNING, state=State.MARGINAL)
    now = finding("gap", **{"severity": Severity.WARNING, "state": State.MARGINAL, **changes})

    answer = only(report(now), baseline=known(then))

    assert answer.findings == (now,)
    assert answer.known == {"gap": True}


def test_a_known_finding_that_got_better_passes() -> None:
    answer = only(report(finding("gap", measured=0.28)), baseline=known(GAP))

    assert answer.findings == ()


def test_a_second_finding_of_the_kind_is_new() -> None:
    again = moved(GAP, 0.5, 0.0)

    answer = only(report(GAP, again), baseline=known(GAP))

    assert answer.findings == (again,)


def test_findings_of_a_board_that_moved_stay_known() -> None:
    before = known(GAP, LUCK)
    after = [moved(one, 35.0, -12.5) for one in (GAP, LUCK)]

    answer = only(report(*after, board=board(35.0, -12.5)), baseline=before)

    assert answer.findings == ()


def test_a_board_that_grew_is_taken_as_it_lies() -> None:
    answer = only(report(GAP, board=board(-5.0, 0.0, width=105.0)), baseline=known(GAP))

    assert answer.findings == ()


@given(FINDINGS, st.floats(-200, 200), st.floats(-200, 200))
def test_a_moved_board_keeps_its_baseline(
    findings: tuple[Finding, ...], dx: float, dy: float
) -> None:
    placed = [one for one in findings if one.seen.x is not None]
    after = [moved(one, dx, dy) for one in placed]

    answer = only(report(*after, board=board(dx, dy)), baseline=known(*placed))

    assert len(answer.accepted) == sum(not worse for worse in (answer.known or {}).values())
    assert len(answer.known or {}) == len(placed)


@given(FINDINGS, OTHERS, st.lists(st.sampled_from(["GND", "VCC"]), max_size=2).map(tuple))
def test_no_finding_is_lost(
    findings: tuple[Finding, ...], before: tuple[Finding, ...], nets: tuple[str, ...]
) -> None:
    one = report(*findings)

    answer = only(one, [waiver(nets=nets), waiver(rule="tight-gap", nets=("VCC",))], known(*before))

    taken = [accepted.finding for accepted in answer.accepted]
    assert sorted([*ids(answer.findings), *ids(taken)]) == sorted(ids(findings))
    assert [f for f in findings if f in answer.findings] == list(answer.findings)
    assert [f for f in findings if f in taken] == taken
    in_causes = [f.id for cause in answer.causes for f in cause.findings]
    assert sorted(in_causes) == sorted(ids(answer.findings))


@given(FINDINGS)
def test_all_that_was_recorded_is_known(findings: tuple[Finding, ...]) -> None:
    answer = only(report(*findings), baseline=known(*findings))

    assert answer.findings == ()
    assert answer.stale == ()


def test_what_was_waived_needs_care_and_is_no_hindrance() -> None:
    assert report(GAP).verdict is Verdict.NOT_MAKEABLE

    answer = only(report(GAP), [GND])

    assert answer.verdict is Verdict.MARGINAL


def test_one_hindrance_that_is_not_waived_is_one() -> None:
    other = finding("other", nets=("LAMP",))

    assert only(report(GAP, other), [GND]).verdict is Verdict.NOT_MAKEABLE


def test_a_waived_place_of_luck_leaves_the_verdict() -> None:
    one = report(LUCK)

    assert only(one, [waiver(rule="tight-gap", nets=("GND",))]).verdict is Verdict.MARGINAL


def test_what_is_known_leaves_the_verdict() -> None:
    assert only(report(GAP), baseline=known(GAP)).verdict is Verdict.NOT_MAKEABLE
    assert only(
        report(GAP, LUCK), [waiver(rule="tight-gap", nets=("GND",))], known(GAP)
    ).verdict is (Verdict.NOT_MAKEABLE)


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({"board": board(islands=0)}, Verdict.NOT_CHECKED),
        ({"process": process(cut=None), "counts": {}}, Verdict.NOT_CHECKED),
        ({"process": process(cut=None), "counts": {"leads": 0}}, Verdict.NOT_CHECKED),
        ({"process": process(cut=None), "counts": {"leads": 8}}, Verdict.MARGINAL),
    ],
)
def test_a_waiver_makes_no_pass_of_a_board_that_nothing_judged(
    changes: dict[str, object], verdict: Verdict
) -> None:
    assert only(report(GAP, **changes), [GND]).verdict is verdict  # type: ignore[arg-type] # fields


def test_an_expired_waiver_is_told_and_its_findings_count() -> None:
    answer = only(report(GAP), [replace(GND, until=date(2026, 11, 28))])

    assert answer.findings == (GAP,)
    assert answer.stale == (
        Note(
            "hardware/.cutworthy.yaml",
            4,
            f"the waiver of {GND.rule} expired on 2026-11-28; its findings count again",
        ),
    )


def test_a_waiver_that_fits_nothing_is_told() -> None:
    (note,) = only(report(GAP), [waiver(nets=("LAMP",))]).stale

    assert (note.source, note.line) == ("hardware/.cutworthy.yaml", 4)
    assert note.text == (
        f"the waiver of {GND.rule} fits nothing found in this run; remove it, or name its board"
    )


def test_a_waiver_of_a_rule_alone_is_told_what_it_means() -> None:
    (note,) = only(report(GAP), [waiver(side="top")]).stale

    assert note.text.startswith(f"the waiver of {GND.rule} names neither nets, pins nor a place")


def test_a_waiver_that_fits_only_what_others_fit_is_told() -> None:
    second = replace(GND, where="hardware/.cutworthy.yaml:9")

    (note,) = only(report(GAP), [GND, second]).stale

    assert note.line == 9
    assert note.text.endswith("fits only what other waivers fit; remove one of them")


def test_a_waiver_whose_rule_was_not_asked_is_not_told() -> None:
    assert only(report(GAP), [waiver(rule="thin-web", nets=("GND",))]).stale == ()


def test_a_waiver_that_fits_with_one_process_is_of_use() -> None:
    answers = accept([report(LUCK), report(GAP, profile="other")], [GND], None, TODAY)

    assert [one.stale for one in answers] == [(), ()]


def test_what_a_baseline_knows_and_is_gone_is_told_by_number() -> None:
    two = [moved(GAP, 10.0 * i, 0.0, f"{i}") for i in range(1, 3)]

    (note,) = only(report(GAP), baseline=known(GAP, *two)).stale

    assert note == Note(SOURCE, 0, "2 findings that it knows are gone")


def test_what_a_rule_could_not_look_for_is_not_gone() -> None:
    blind = {GND.rule: (Unchecked("gaps of top", "too many"),)}

    assert only(report(asked=blind), baseline=known(GAP)).stale == ()


def test_a_waiver_is_of_use_where_one_board_of_the_run_uses_it() -> None:
    uses = only(report(GAP), [GND])
    uses_not = only(report(LUCK), [GND])
    assert uses_not.stale

    assert [one.stale for one in once([uses_not, uses])] == [(), ()]


def test_a_waiver_that_no_board_uses_is_told_once() -> None:
    boards = [only(report(LUCK), [GND]) for _ in range(3)]

    first, *others = once(boards)

    assert len(first.stale) == 1
    assert [one.stale for one in others] == [(), ()]


def test_an_expired_waiver_is_told_once() -> None:
    over = replace(GND, until=date(2020, 1, 1))

    told = [one.stale for one in once([only(report(GAP), [over]) for _ in range(2)])]

    assert [len(notes) for notes in told] == [1, 0]


def test_a_waiver_that_others_cover_on_one_board_is_not_said_to_fit_nothing() -> None:
    second = replace(GND, where="hardware/.cutworthy.yaml:9")
    boards = [only(report(LUCK), [GND, second]), only(report(GAP), [GND, second])]

    notes = [note for one in once(boards) for note in one.stale]

    assert [note.line for note in notes] == [9]
    assert "other waivers" in notes[0].text


def test_reports_with_nothing_stale_stay_as_they_are() -> None:
    one = report(GAP)

    assert once([one])[0] is one
