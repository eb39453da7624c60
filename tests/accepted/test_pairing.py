from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.findings import Finding, State
from checker.pairing import WITHIN, Pairing, pair, worse
from checker.severity import Severity
from tests.accepted.made import FINDINGS, OTHERS, finding, moved, numbered

PLACES = st.lists(st.tuples(st.floats(0, 8), st.floats(0, 8), st.floats(0, 0.3)), max_size=20)


def at(places: Sequence[tuple[float, float, float]], sign: str) -> tuple[Finding, ...]:
    """Findings of one kind at places, each with a length of its own."""
    return numbered([finding(x=x, y=y, measured=length) for x, y, length in places], sign)


def by_distance(before: Sequence[Finding], after: Sequence[Finding]) -> set[tuple[int, int]]:
    """Of all pairs within reach the nearest, then the nearest of the rest, and so on."""
    ranked = []
    for i, old in enumerate(before):
        for j, new in enumerate(after):
            a, b = old.seen, new.seen
            far = math.hypot((b.x or 0) - (a.x or 0), (b.y or 0) - (a.y or 0))
            shorts = [abs((one.limit or 0) - (one.measured or 0)) for one in (a, b)]
            if far <= WITHIN:
                ranked.append((far, abs(shorts[1] - shorts[0]), i, j))
    found: dict[int, int] = {}
    for _, _, i, j in sorted(ranked):
        if i not in found and j not in found.values():
            found[i] = j
    return set(found.items())


@given(FINDINGS, FINDINGS | OTHERS)
def test_every_finding_is_in_one_pair_or_gone_or_new(
    before: tuple[Finding, ...], after: tuple[Finding, ...]
) -> None:
    found = pair(before, after)

    assert sorted([*(i for i, _ in found.same), *found.gone]) == [*range(len(before))]
    assert sorted([*(j for _, j in found.same), *found.new]) == [*range(len(after))]


@given(FINDINGS, OTHERS)
def test_only_what_is_of_one_kind_and_near_is_paired(
    before: tuple[Finding, ...], after: tuple[Finding, ...]
) -> None:
    pairs = [(before[i], after[j]) for i, j in pair(before, after).same]

    for one, other in pairs:
        assert one.rule == other.rule
        assert one.seen.side == other.seen.side
        assert set(one.seen.nets) == set(other.seen.nets)
        assert set(one.seen.pins) == set(other.seen.pins)
        assert (one.seen.x is None) == (other.seen.x is None)
        assert math.dist(place(one), place(other)) <= WITHIN


def place(one: Finding) -> tuple[float, float]:
    return one.seen.x or 0.0, one.seen.y or 0.0


@given(FINDINGS)
def test_a_run_is_paired_with_itself_whole(findings: tuple[Finding, ...]) -> None:
    every = tuple((i, i) for i in range(len(findings)))

    assert pair(findings, findings) == Pairing(every, (), ())


@given(PLACES, PLACES)
def test_nearest_goes_first_as_in_one_list_of_all_distances(
    before: list[tuple[float, float, float]], after: list[tuple[float, float, float]]
) -> None:
    old, new = at(before, "a"), at(after, "b")

    assert set(pair(old, new).same) == by_distance(old, new)


@given(FINDINGS, st.floats(-300, 300), st.floats(-300, 300))
def test_a_board_that_moved_is_paired_whole(
    findings: tuple[Finding, ...], dx: float, dy: float
) -> None:
    placed = tuple(one for one in findings if one.seen.x is not None)
    after = tuple(moved(one, dx, dy) for one in placed)

    found = pair(placed, after, shift=(dx, dy))

    assert (found.gone, found.new) == ((), ())


def test_a_place_may_move_by_two_millimetres_and_no_more() -> None:
    near, far = moved(finding(), 1.99, 0), moved(finding(), 2.01, 0)

    assert pair([finding()], [near]).same == ((0, 0),)
    assert pair([finding()], [far]) == Pairing((), (0,), (0,))
    assert pair([finding()], [far], within=3.0).same == ((0, 0),)


def test_an_id_says_nothing_where_the_board_moved_onto_a_neighbour() -> None:
    """A row of pads at 2.54 mm, moved by 2.54 mm: each id is now that of the next pad."""
    pitch = 2.54
    row = [finding(f"{i}", x=i * pitch, y=0.0, measured=0.2 + i / 100) for i in range(4)]
    after = [
        finding(f"{i + 1}", x=(i + 1) * pitch, y=0.0, measured=0.2 + i / 100) for i in range(4)
    ]

    assert pair(row, after, shift=(pitch, 0.0)).same == ((0, 0), (1, 1), (2, 2), (3, 3))


def test_of_twins_the_place_tells_which_is_left() -> None:
    """Ids of twins are numbered in order: where the first goes, the second takes its name."""
    twins = [finding("id", x=1.0), finding("id-2", x=1.04, measured=0.1)]
    left = [finding("id", x=1.04, measured=0.1)]

    assert pair(twins, left) == Pairing(((1, 0),), (0,), ())


def test_nets_and_pins_are_the_same_in_any_order() -> None:
    other = finding("b", nets=("VCC", "GND"), pins=("U1.2", "U1.1"))

    assert pair([finding()], [other]).same == ((0, 0),)


@pytest.mark.parametrize(
    "changes",
    [
        {"rule": "tight-gap"},
        {"side": "bottom"},
        {"nets": ("GND",)},
        {"pins": ("U1.1",)},
        {"x": None, "y": None},
    ],
)
def test_what_is_of_another_kind_is_another_finding(changes: dict[str, object]) -> None:
    assert pair([finding()], [finding("a", **changes)]) == Pairing((), (0,), (0,))


def test_findings_of_the_whole_board_are_told_apart_by_their_lengths() -> None:
    before = [finding(f"b{i}", x=None, y=None, measured=m) for i, m in enumerate((0.5, 0.7, 0.9))]
    after = [finding(f"a{i}", x=None, y=None, measured=m) for i, m in enumerate((0.9, 0.7))]

    assert pair(before, after) == Pairing(((1, 1), (2, 0)), (0,), ())


def test_a_crowd_at_one_place_is_paired_one_to_one_and_no_worse() -> None:
    before = [finding(f"b{i}") for i in range(500)]
    after = [finding(f"a{i}", x=10.5) for i in range(500)]

    found = pair(before, after)

    assert len(found.same) >= 32
    assert len(found.same) + len(found.new) == 500


@given(FINDINGS)
def test_no_finding_is_worse_than_itself(findings: tuple[Finding, ...]) -> None:
    assert not any(worse(one, one) for one in findings)


@given(FINDINGS, FINDINGS)
def test_with_one_weight_and_state_only_one_of_two_is_worse(
    some: tuple[Finding, ...], others: tuple[Finding, ...]
) -> None:
    for one, other in zip(some, others, strict=False):
        seen = replace(other.seen, state=one.seen.state)
        alike = replace(other, severity=one.severity, seen=seen)

        assert not (worse(one, alike) and worse(alike, one))


@pytest.mark.parametrize(
    ("changes", "is_worse"),
    [
        ({"measured": 0.249}, False),  # 1 um: no change
        ({"measured": 0.247}, True),  # 3 um
        ({"measured": 0.253}, False),  # nearer to the limit
        ({"limit": 0.303}, True),  # more is asked for
        ({"measured": None, "limit": None}, False),
        ({"state": State.MARGINAL}, False),
        ({"severity": Severity.WARNING}, False),
        ({"message": "5 nets in one piece"}, False),
    ],
)
def test_worse_is_further_off_the_limit_by_more_than_two_micrometres(
    changes: dict[str, object], is_worse: bool
) -> None:
    assert worse(finding(), finding(**changes)) is is_worse  # type: ignore[arg-type] # real fields


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ({"state": State.MARGINAL}, {"state": State.NOT_MAKEABLE, "measured": 0.3}),
        ({"severity": Severity.NOTE}, {"severity": Severity.WARNING, "measured": 0.3}),
        ({"measured": None}, {}),
    ],
)
def test_worse_is_a_worse_state_or_weight_whatever_the_length(
    before: dict[str, object], after: dict[str, object]
) -> None:
    assert worse(finding(**before), finding(**after))  # type: ignore[arg-type] # as above
