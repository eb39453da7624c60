from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from msgspec.structs import replace

from checker.accepted.accept import accept
from checker.accepted.baseline import Baseline, recorded, shrunk
from checker.accepted.place import baseline_path
from checker.board import Unchecked
from checker.errors import UsageError
from checker.findings import Finding, State
from checker.pairing import worse
from checker.severity import Severity
from tests.accepted.made import FINDINGS, OTHERS, RULE, SOURCE, board, finding, moved, report
from tests.accepted.test_waivers import TODAY, waiver

FAR = finding("far", x=70.0)


def known(*findings: Finding, **changes: object) -> Baseline:
    return recorded([report(*findings, **changes)], SOURCE)  # type: ignore[arg-type] # as made


def of(baseline: Baseline | None, profile: str = "cone") -> tuple[Finding, ...]:
    assert baseline is not None
    return baseline.known[profile].findings


def test_baseline_of_a_folder_lies_in_it(tmp_path: Path) -> None:
    assert baseline_path([tmp_path]) == tmp_path / ".cutworthy-baseline.json"


def test_baseline_of_an_archive_or_of_files_lies_beside_the_first(tmp_path: Path) -> None:
    paths = [tmp_path / "top.gbr", tmp_path / "holes.drl"]

    assert baseline_path(paths) == tmp_path / ".top.gbr.cutworthy-baseline.json"
    assert baseline_path([Path("door.zip")]) == Path(".door.zip.cutworthy-baseline.json")


def test_recording_keeps_what_tells_a_finding_and_how_bad_it_is() -> None:
    (one,) = of(known(finding(measured=0.123456, x=1.00004)))

    seen = one.seen
    assert (one.id, one.rule, one.severity) == ("a", RULE, Severity.ERROR)
    assert (seen.state, seen.side, seen.nets, seen.pins) == (
        State.NOT_MAKEABLE,
        "top",
        ("GND", "VCC"),
        ("U1.1", "U1.2"),
    )
    assert (seen.measured, seen.limit, seen.x, seen.y) == (0.1235, 0.3, 1.0, 20.0)
    assert seen.message == ""


def test_what_is_waived_is_not_recorded_and_what_is_known_is_again() -> None:
    one = report(finding(), FAR)
    answers = accept([one], [waiver(at=(70.0, 20.0))], known(finding()), TODAY)
    assert answers[0].findings == ()

    again = recorded(answers, SOURCE)

    assert [found.id for found in of(again)] == ["a"]


def test_recording_one_process_leaves_the_others() -> None:
    before = recorded([report(finding()), report(FAR, profile="other")], SOURCE)

    after = recorded([report()], SOURCE, before)

    assert of(after) == ()
    assert of(after, "other") == of(before, "other")


def test_recording_again_may_let_it_grow() -> None:
    after = recorded([report(finding(measured=0.1), FAR)], SOURCE, known(finding()))

    assert [one.seen.measured for one in of(after)] == [0.1, 0.25]


def test_two_processes_of_one_name_are_refused() -> None:
    with pytest.raises(UsageError, match="--profile cone: is the name of 2 processes"):
        recorded([report(), report()], SOURCE)


def test_order_of_findings_does_not_matter() -> None:
    assert known(finding(), FAR) == known(FAR, finding())


def test_it_does_not_shrink_where_all_is_as_it_was() -> None:
    assert shrunk(known(finding(), FAR), [report(finding(), FAR)]) is None


def test_what_is_gone_leaves_it() -> None:
    assert of(shrunk(known(finding(), FAR), [report(FAR)])) == of(known(FAR))


@pytest.mark.parametrize(
    "asked",
    [{RULE: (Unchecked("gaps of top", "too many"),)}, {"tight-gap": ()}],
    ids=["could not look", "not asked"],
)
def test_what_was_not_looked_for_stays(asked: dict[str, tuple[Unchecked, ...]]) -> None:
    assert shrunk(known(finding()), [report(asked=asked)]) is None


def test_what_is_better_stays_so() -> None:
    less = shrunk(known(finding()), [report(finding(measured=0.28))])

    assert [one.seen.measured for one in of(less)] == [0.28]


def test_what_is_better_by_less_than_two_micrometres_changes_nothing() -> None:
    assert shrunk(known(finding()), [report(finding(measured=0.2515))]) is None


def test_a_lighter_weight_and_state_are_taken_over() -> None:
    lighter = finding(severity=Severity.WARNING, state=State.MARGINAL)

    (one,) = of(shrunk(known(finding()), [report(lighter)]))

    assert (one.severity, one.seen.state) == (Severity.WARNING, State.MARGINAL)


@pytest.mark.parametrize(
    "changes", [{"measured": 0.2}, {"measured": 0.2, "severity": Severity.NOTE}]
)
def test_what_is_worse_changes_nothing(changes: dict[str, object]) -> None:
    assert shrunk(known(finding()), [report(finding(**changes))]) is None  # type: ignore[arg-type] # fields


def test_new_findings_do_not_get_in() -> None:
    assert shrunk(known(finding()), [report(finding(), FAR)]) is None


def test_what_is_waived_now_is_not_gone() -> None:
    baseline = known(finding())
    answers = accept([report(finding())], [waiver(nets=("GND",))], baseline, TODAY)

    assert shrunk(baseline, answers) is None


def test_processes_that_were_not_judged_stay() -> None:
    both = recorded([report(finding()), report(FAR, profile="other")], SOURCE)

    less = shrunk(both, [report()])

    assert of(less) == ()
    assert of(less, "other") == of(both, "other")


def test_places_stay_those_of_the_day_it_was_recorded() -> None:
    now = replace(moved(finding(), 5.0, 5.0), id="new")
    better = replace(now, seen=replace(now.seen, measured=0.29))
    before = known(finding())

    less = shrunk(before, [report(better, board=board(5.0, 5.0))])

    assert [(one.seen.x, one.seen.y, one.seen.measured) for one in of(less)] == [(10, 20, 0.29)]
    assert less is not None
    assert less.known["cone"].corner == before.known["cone"].corner


@given(FINDINGS, FINDINGS | OTHERS)
def test_shrinking_never_adds_and_never_worsens(
    before: tuple[Finding, ...], after: tuple[Finding, ...]
) -> None:
    baseline = known(*before)

    less = shrunk(baseline, [report(*after)]) or baseline

    then = {one.id: one for one in of(baseline)}
    assert {one.id for one in of(less)} <= set(then)
    assert not any(worse(then[one.id], one) for one in of(less))


@given(FINDINGS, FINDINGS | OTHERS)
def test_shrinking_lets_pass_what_passed_and_nothing_else(
    before: tuple[Finding, ...], after: tuple[Finding, ...]
) -> None:
    baseline, one = known(*before), report(*after)

    less = shrunk(baseline, [one]) or baseline

    (then,) = accept([one], [], baseline, TODAY)
    (now,) = accept([one], [], less, TODAY)
    assert now.findings == then.findings


@given(FINDINGS, FINDINGS | OTHERS)
def test_what_shrank_does_not_shrink_again(
    before: tuple[Finding, ...], after: tuple[Finding, ...]
) -> None:
    baseline, one = known(*before), report(*after)

    less = shrunk(baseline, [one]) or baseline

    assert shrunk(less, [one]) is None
