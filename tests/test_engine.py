from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import box
from shapely.affinity import affine_transform
from shapely.geometry.polygon import orient

from checker.board import Board, Kind, Unchecked
from checker.engine import check, reach_for
from checker.errors import ProfileError
from checker.exact import tie
from checker.findings import Finding, Observation, Rule, State, Verdict
from checker.measure import Facts, Reach, measure
from checker.process.model import Process
from checker.registry import load_rules
from checker.severity import Severity
from tests.gridded import Lead, on_grid, standing
from tests.handmade import (
    PLAIN,
    RULES,
    Copper,
    Gap,
    Neck,
    cone,
    cutting,
    exactly,
    facts,
    layer,
    on_board,
    spread,
    square,
)

FEW = {
    name: RULES[name]
    for name in ("uncuttable-gap", "trimmed-gap", "tight-gap", "uncut-foil", "thin-copper")
}

LEADS: list[Lead] = [(f"J{n}.1", net, 10.0 + 2.54 * n, 10.0) for n, net in enumerate("ABAB")]


def judge(made: Facts, process: Process, rules: dict[str, Rule] | None = None):  # type: ignore[no-untyped-def]
    return check(made.board, process, rules or FEW, made)


def saying(*seen: Observation | Unchecked, severity: Severity = Severity.ERROR) -> dict[str, Rule]:
    """A rule that always sees the same."""

    def answer(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
        yield from seen

    return {"some-fault": Rule("some-fault", "", severity, "", answer)}


def observation(state: State = State.NOT_MAKEABLE, **more: object) -> Observation:
    return replace(Observation("Seen", "Mend it", "a cause", state), **more)


# --- verdict and severity ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("states", "verdict"),
    [
        ([], Verdict.MAKEABLE),
        ([State.REMARK], Verdict.MAKEABLE),
        ([State.MARGINAL, State.REMARK], Verdict.MARGINAL),
        ([State.MARGINAL, State.NOT_MAKEABLE], Verdict.NOT_MAKEABLE),
    ],
)
def test_the_worst_state_gives_the_verdict(states: list[State], verdict: Verdict) -> None:
    made = facts([Gap(1.0)])

    assert judge(made, PLAIN, saying(*map(observation, states))).verdict is verdict


def test_what_is_unchecked_stands_beside_the_verdict_once() -> None:
    unread = Unchecked("drill.txt", "cannot be read")
    made = facts([Gap(1.0)])
    made = on_board(made, replace(made.board, unchecked=(unread,)))

    report = judge(made, replace(PLAIN, minimum_trace=None))

    assert report.unchecked == (
        unread,
        Unchecked("width of copper", "the profile sets no minimum_trace"),
    )


def test_every_rule_asked_is_told_with_what_it_could_not_check() -> None:
    blind = Unchecked("width of copper", "the profile sets no minimum_trace")

    report = judge(facts([Gap(1.0)]), replace(PLAIN, minimum_trace=None))

    assert list(report.asked) == list(FEW)
    assert {name: told for name, told in report.asked.items() if told} == {"thin-copper": (blind,)}


def test_each_rule_is_announced_before_it_is_asked() -> None:
    told: list[str] = []
    made = facts([Gap(1.0)])

    report = check(made.board, PLAIN, FEW, made, before=lambda rule: told.append(rule.name))

    assert told == list(report.asked)


def test_a_board_without_copper_is_not_called_makeable() -> None:
    report = judge(facts(), PLAIN)

    assert report.verdict is Verdict.NOT_CHECKED
    assert report.unchecked == (Unchecked("the board", "no side holds any copper"),)


def test_perfboard_without_a_grid_is_not_called_makeable() -> None:
    report = judge(standing(LEADS), on_grid(pitch=None), load_rules())

    assert report.verdict is Verdict.NOT_CHECKED
    assert "leads on the grid" in [entry.what for entry in report.unchecked]


def test_perfboard_without_leads_to_wire_is_not_checked() -> None:
    report = judge(standing(LEADS, read=False), on_grid(), load_rules())

    assert report.verdict is Verdict.NOT_CHECKED
    assert Unchecked("leads on the grid", "no drill file") in report.unchecked


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ([], Verdict.MAKEABLE),
        ([("R1.1", "A", 31.0, 31.0), ("R1.2", "B", 33.54, 31.0)], Verdict.MARGINAL),
        ([(f"X1.{n}", "A", 31.0 + 2 * n, 31.0) for n in range(4)], Verdict.NOT_MAKEABLE),
    ],
)
def test_perfboard_is_judged_by_its_own_rules(more: list[Lead], verdict: Verdict) -> None:
    report = judge(standing([*LEADS, *more]), on_grid(), load_rules())

    assert report.verdict is verdict
    assert {one.what for one in report.unchecked} <= {
        "voltages and currents", "the fit of the files to each other",
    }  # fmt: skip
    assert report.counts["leads"] == len(LEADS) + len(more)
    assert "gaps" not in report.counts


def test_inner_copper_does_not_matter_to_perfboard() -> None:
    made = facts([Gap(1.0, side="inner 1")], sides=("top", "inner 1"))

    report = judge(made, on_grid())

    assert "gaps and necks of inner 1" not in [entry.what for entry in report.unchecked]


def test_a_rule_is_asked_only_about_the_methods_it_speaks_of() -> None:
    rules = saying(observation())

    assert len(judge(facts(), PLAIN, rules).findings) == 1
    assert judge(facts(), on_grid(), rules).findings == ()


def test_inner_copper_is_told_as_out_of_reach() -> None:
    report = judge(facts([Gap(1.0, side="inner 1")], sides=("top", "inner 1")), PLAIN)

    assert "gaps and necks of inner 1" in [entry.what for entry in report.unchecked]


@pytest.mark.parametrize(
    ("state", "own", "profile", "stamped"),
    [
        (State.NOT_MAKEABLE, Severity.ERROR, None, Severity.ERROR),
        (State.MARGINAL, Severity.ERROR, None, Severity.WARNING),
        (State.MARGINAL, Severity.NOTE, None, Severity.NOTE),
        (State.MARGINAL, Severity.ERROR, Severity.ERROR, Severity.ERROR),
        (State.NOT_MAKEABLE, Severity.ERROR, Severity.NOTE, Severity.NOTE),
    ],
)
def test_severity_is_the_rules_unless_the_profile_sets_it(
    state: State, own: Severity, profile: Severity | None, stamped: Severity
) -> None:
    process = replace(PLAIN, severity={"some-fault": profile} if profile else {})

    (finding,) = judge(facts(), process, saying(observation(state), severity=own)).findings

    assert finding.severity is stamped


def test_a_severity_for_no_rule_is_refused_with_the_nearest_name() -> None:
    process = replace(
        PLAIN,
        severity={"uncutable-gap": Severity.NOTE},
        places={"severity.uncutable-gap": "mill.yaml:7"},
    )

    with pytest.raises(ProfileError, match=r"mill\.yaml:7: .*did you mean uncuttable-gap\?"):
        judge(facts(), process)


# --- ids and order ----------------------------------------------------------------------------

PLACES = st.lists(
    st.tuples(
        st.floats(0.05, 0.3).map(lambda w: round(w, 3)),
        st.sampled_from(["GND", "VCC", "CLK", None]),
        st.sampled_from(["top", "bottom"]),
    ),
    max_size=8,
)


def test_two_sides_of_a_gap_are_told_pads_first_and_as_people_count() -> None:
    pads = [Copper(Kind.PAD, None, "U1", pin) for pin in ("10", "9")]
    made = facts(
        [Gap(0.1, a=pads[0], b=pads[1]), Gap(0.1, a=Copper(Kind.TRACE), b=pads[1], at=(3, 0))]
    )

    one, other = judge(made, cutting(0.2)).findings

    assert "U1.9 and U1.10 stay joined" in one.seen.message
    assert "U1.9 and a trace stay joined" in other.seen.message


def board_of(places: list[tuple[int, tuple[float, str | None, str]]]) -> Facts:
    return facts(
        [
            Gap(width, a=Copper(net=net), b=Copper(Kind.TRACE), at=(3.0 * i, 1.0), side=side)
            for i, (width, net, side) in places
        ]
    )


@given(PLACES, st.randoms())
def test_the_order_of_the_files_changes_nothing(
    places: list[tuple[float, str | None, str]], random: object
) -> None:
    numbered = list(enumerate(places))
    shuffled = sorted(numbered, key=lambda _: random.random())  # type: ignore[attr-defined]

    one, other = (judge(board_of(order), cutting(0.2, 0.25)) for order in (numbered, shuffled))

    assert one.findings == other.findings
    assert one.causes == other.causes
    assert one.joined == other.joined


def ids(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.id for finding in findings]


def test_an_id_survives_a_change_elsewhere() -> None:
    place = Gap(0.1, a=Copper(net="GND"), b=Copper(net="VCC"), at=(5.0, 5.0))

    (alone,) = ids(judge(facts([place]), cutting(0.2)).findings)
    beside = ids(judge(facts([Gap(0.1), place, Gap(0.12, at=(9, 9))]), cutting(0.2)).findings)

    assert alone in beside
    assert len(alone) == 10


def test_equal_ids_are_told_apart() -> None:
    twice = saying(observation(x=1.0, y=1.0), observation(x=1.01, y=1.0))

    first, second = ids(judge(facts(), PLAIN, twice).findings)

    assert second == f"{first}-2"


def test_findings_come_by_severity_rule_side_and_place() -> None:
    made = facts(
        [
            Gap(0.21, at=(0, 0)),
            Gap(0.1, at=(3, 9), side="bottom"),
            Gap(0.1, at=(3, 9)),
            Gap(0.1, at=(9, 3)),
        ]
    )

    found = judge(made, cutting(0.2, 0.25)).findings

    assert [(f.rule, f.seen.side, f.seen.x) for f in found] == [
        ("uncuttable-gap", "top", 9),
        ("uncuttable-gap", "top", 3),
        ("uncuttable-gap", "bottom", 3),
        ("tight-gap", "top", 0),
    ]


# --- measured boards -------------------------------------------------------------------------

SIZE = st.floats(0.6, 0.95)
PADS = st.lists(st.tuples(SIZE, SIZE), min_size=9, max_size=9)
EXACT = 0.002  # bound on the difference of one width measured twice, mm
STAY = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]
MOVES = {
    "shifted": [1.0, 0.0, 0.0, 1.0, 123.0, -45.0],
    "turned": [0.0, -1.0, 1.0, 0.0, 0.0, 0.0],
    "mirrored": [-1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
}


def pad_grid(sizes: list[tuple[float, float]], move: list[float]) -> Board:
    pads = [
        (
            Copper(Kind.PAD, None, "U1", str(i)),
            orient(affine_transform(box(x, y, x + width, y + height), move)),
        )
        for i, (width, height) in enumerate(sizes)
        for x, y in (divmod(i, 3),)
    ]
    return Board("grid", (), (layer("top", pads),))


@pytest.mark.parametrize("move", MOVES.values(), ids=MOVES)
@given(PADS)
@settings(max_examples=4)
def test_a_moved_board_has_the_same_faults(
    move: list[float], sizes: list[tuple[float, float]]
) -> None:
    boards = [pad_grid(sizes, moved) for moved in (STAY, move)]
    here, there = (check(board, cutting(0.2, 0.3)) for board in boards)

    one, other = (
        {(f.rule, frozenset(f.seen.pins)): f.seen.measured or 0.0 for f in report.findings}
        for report in (here, there)
    )
    band = tie(boards[0])
    edges = [0.2 - band, 0.2 + band, 0.3 - band]
    widths = [*one.values(), *other.values()]
    assume(all(abs(width - edge) > EXACT for width in widths for edge in edges))
    assert one == pytest.approx(other, abs=EXACT)
    assert here.verdict is there.verdict


@given(PADS, st.floats(0.02, 0.2), st.floats(0.0, 0.1))
@settings(max_examples=4)
def test_a_wider_cut_never_finds_less(
    sizes: list[tuple[float, float]], narrowest: float, more: float
) -> None:
    board = pad_grid(sizes, STAY)
    processes = [cutting(narrowest * times, narrowest * times + more) for times in (1, 2, 3, 5)]
    measured = measure(board, reach_for(processes))

    counts = [len(check(board, process, RULES, measured).findings) for process in processes]

    assert counts == sorted(counts)


# --- joined nets ------------------------------------------------------------------------------


def joints(*pairs: tuple[str | None, str | None, str]) -> Facts:
    return facts(
        [
            Gap(0.1, a=Copper(net=a), b=Copper(net=b), at=(3.0 * i, 0.0), side=side)
            for i, (a, b, side) in enumerate(pairs)
        ]
    )


def test_nets_join_through_third_ones_and_across_sides() -> None:
    made = joints(("A", "B", "top"), ("B", "C", "top"), ("C", "D", "bottom"), ("E", "F", "bottom"))

    assert judge(made, cutting(0.2)).joined == (
        ("top", ("A", "B", "C")),
        ("bottom", ("C", "D")),
        ("bottom", ("E", "F")),
        ("all sides", ("A", "B", "C", "D")),
    )


def test_nets_without_a_name_are_told_by_a_place_on_them() -> None:
    ((_, labels),) = judge(joints(("A", None, "top")), cutting(0.2)).joined

    assert labels == ("A", "net at 0.3, 0.0")


def test_gaps_at_the_limit_join_nothing() -> None:
    assert judge(facts([Gap(0.199)]), cutting(0.2)).joined == ()


# --- causes -----------------------------------------------------------------------------------


def pads(component: str, distance: float, count: int, y: float) -> list[Gap]:
    return [
        Gap(
            distance,
            a=Copper(Kind.PAD, None, component, str(i)),
            b=Copper(Kind.PAD, None, component, str(i + 1)),
            at=(3.0 * i, y),
        )
        for i in range(count)
    ]


def test_hundreds_of_places_are_few_causes_in_words() -> None:
    made = facts(
        [
            *pads("U1", 0.15, 20, 0.0),
            *(gap for i in range(1, 7) for gap in pads(f"C{i}", 0.12, 1, 3.0 * i)),
            *(
                Gap(
                    0.1 + 0.001 * (i % 3),
                    a=Copper(Kind.TRACE),
                    b=Copper(Kind.POUR, "GND"),
                    at=(3.0 * i, 40),
                )
                for i in range(100)
            ),
            *(
                Gap(0.05 + 0.01 * i, a=Copper(Kind.TRACE), b=Copper(Kind.TRACE), at=(3.0 * i, 50))
                for i in range(10)
            ),
        ]
    )

    causes = judge(made, cutting(0.2)).causes

    assert {cause.cause: len(cause.findings) for cause in causes} == {
        "pads of U1, 0.15 mm apart": 20,
        "pads of C1, C2, C3 and 3 more, 0.12 mm apart": 6,
        "clearance 0.10 mm between traces and the pour GND": 100,
        "traces 0.05 to 0.14 mm apart": 10,
    }


@given(PLACES)
def test_every_finding_has_one_cause_and_its_remedy_is_that_of_the_worst(
    places: list[tuple[float, str | None, str]],
) -> None:
    report = judge(board_of(list(enumerate(places))), cutting(0.2, 0.25))

    assert sorted(f.id for cause in report.causes for f in cause.findings) == sorted(
        ids(report.findings)
    )
    for cause in report.causes:
        worst = min(cause.findings, key=lambda f: f.seen.measured or 0.0)
        assert cause.remedy == worst.seen.remedy


def test_one_depth_mends_every_place_of_a_cause() -> None:
    mill = cone(exactly(0.1), 30, spread(0.12, 0.0))
    made = facts([Gap(w, at=(3.0 * i, 0)) for i, w in enumerate((0.15, 0.14, 0.13, 0.158))])

    (cause,) = judge(made, mill).causes

    assert "Cut at 0.04 mm or less" in cause.remedy
    assert judge(made, cone(exactly(0.1), 30, exactly(0.04))).findings == ()


# --- reach ------------------------------------------------------------------------------------


def test_no_more_is_measured_than_the_processes_ask_for() -> None:
    two = [
        replace(cutting(0.2, 0.3, bite=0.02), minimum_trace=None),
        replace(cutting(0.1, 0.12), minimum_trace=0.25),
    ]

    assert reach_for(two) == Reach(0.3 + 0.01, 0.25 + 0.01, (0.0, 0.02), widest=0.3)
    assert reach_for(replace(PLAIN, cut=None, minimum_trace=None)) == Reach(0.0, 0.0, (0.0,))


def test_facts_that_do_not_reach_far_enough_are_measured_anew() -> None:
    islands = [(Copper(), square(0, 0, 2)), (Copper(), square(2.1, 0, 2))]
    board = Board("two", (), (layer("top", islands),))
    none = facts([])
    blind = Facts(board, Reach(0.05, 0.2), none.gaps[:1], none.necks[:1])

    report = check(board, cutting(0.2), RULES, blind)

    assert {finding.rule for finding in report.findings} == {"uncuttable-gap"}


def test_what_was_examined_is_counted() -> None:
    same = Gap(0.1, a=Copper(net="GND"), b=Copper(net="GND"), at=(9, 9))
    far, broad = Gap(1.0, at=(6, 6)), Neck(1.0, at=(6, 3))

    counts = judge(facts([Gap(0.1), same, far], [Neck(0.1, at=(3, 3)), broad]), PLAIN).counts

    assert counts == {
        "rules": len(FEW),
        "layers": 2,
        "islands": 8,
        "nets": 7,
        "gaps": 1,
        "necks": 1,
        "holes": 0,
    }


def test_a_bite_that_was_not_measured_is_judged_by_a_lesser_one() -> None:
    made = facts([Gap(0.17)])
    made = Facts(made.board, replace(made.reach, bites=(0.0, 0.02)), made.gaps, made.necks)

    report = judge(made, cutting(0.2, bite=0.02))

    assert [finding.rule for finding in report.findings] == ["uncuttable-gap"]
    assert np.isclose(report.findings[0].seen.measured or 0, 0.17)
