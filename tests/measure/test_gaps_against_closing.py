"""Widest cuts against full morphological closing: from which width on are two islands joined?"""

from __future__ import annotations

from itertools import pairwise
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from checker.measure import Reach, measure
from tests.layouts import ADVERSARIAL, FAMILIES, board_of, layout
from tests.oracles.agreement import Claim, disagreements
from tests.oracles.closing import equivalence, joined
from tests.oracles.distance import gap_between, to_edges
from tests.oracles.forms import FORMS, Form

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.measure import Gaps

TOP = 0.6
ORDINARY = 20
EACH_ADVERSARIAL = 4
LONG_ORDINARY = 2000
LONG_ADVERSARIAL = 400
BATCH = 100


def gaps_of(islands: Sequence[Any], reach: float = TOP, bite: float = 0.0) -> Gaps:
    return measure(board_of(islands), Reach(cut=reach, copper=0.0, bites=(bite,))).gaps[0]


def claim_of(islands: Sequence[Any], reach: float = TOP, bite: float = 0.0) -> Claim:
    gaps = gaps_of(islands, reach, bite)
    return Claim(gaps.islands, gaps.widest_cut[bite])


def merge_widths(islands: Sequence[Any], reach: float = TOP) -> Any:
    return claim_of(islands, reach).merge_widths(len(islands))


def faults(family: str, seeds: range, bite: float = 0.0) -> list[str]:
    """What is wrong: on ordinary copper beyond 2 um; else a joint missed by more than 3 um or a
    false alarm by more than 10 um. The closing itself proves both ends of every bracket.
    """
    late, early = (0.002, 0.002) if family == "ordinary" else (0.003, 0.010)
    reach = 0.9 if family == "dots" else TOP
    found = []
    for seed in seeds:
        islands = layout(family, seed)
        claim = claim_of(islands, reach, bite)
        wrong = disagreements(islands, claim, reach - 0.01, bite, late, early)
        found += [f"{family} {seed}, bite {bite}: {one}" for one in wrong]
    return found


def test_ordinary_islands_merge_at_the_widest_cut_within_2_um() -> None:
    assert not faults("ordinary", range(ORDINARY))


@pytest.mark.parametrize("family", ADVERSARIAL)
def test_hostile_copper_has_no_missed_joint_and_no_false_alarm(family: str) -> None:
    assert not faults(family, range(EACH_ADVERSARIAL))


@pytest.mark.parametrize("bite", [0.01, 0.025, 0.05])
def test_biting_into_copper_widens_the_cut_as_far_as_the_closing_says(bite: float) -> None:
    assert not faults("ordinary", range(3), bite)


@pytest.mark.long
@pytest.mark.parametrize("batch", range(LONG_ORDINARY // BATCH))
def test_many_ordinary_islands_merge_at_the_widest_cut_within_2_um(batch: int) -> None:
    assert not faults("ordinary", range(BATCH * batch, BATCH * (batch + 1)))


@pytest.mark.long
@pytest.mark.parametrize("family", ADVERSARIAL)
@pytest.mark.parametrize("batch", range(LONG_ADVERSARIAL // BATCH))
def test_much_hostile_copper_has_no_missed_joint_and_no_false_alarm(
    family: str, batch: int
) -> None:
    assert not faults(family, range(BATCH * batch, BATCH * (batch + 1)))


@pytest.mark.long
@pytest.mark.parametrize("bite", [0.01, 0.025, 0.05])
def test_many_bites_into_copper_widen_the_cut_as_far_as_the_closing_says(bite: float) -> None:
    assert not faults("ordinary", range(150), bite)


@pytest.mark.parametrize("family", FAMILIES)
def test_groups_joined_at_a_width_are_those_of_the_closing(family: str) -> None:
    islands = layout(family, 21)
    gaps = gaps_of(islands)
    cuts = gaps.widest_cut[0.0]

    for width in np.linspace(0.05, 0.55, 10):
        if (np.abs(cuts - width) > 0.002).all():
            below = gaps.islands[cuts < width]
            groups = equivalence(len(islands), below[:, 0], below[:, 1])
            assert (groups == joined(islands, width)).all()


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_widest_cut_meets_the_closed_form(form: Form) -> None:
    gaps = gaps_of(form.islands, 1.2, form.bite)

    assert gaps.widest_cut[form.bite].min() == pytest.approx(form.width, abs=form.error + 5e-4)


def test_bites_measured_together_are_those_measured_alone_and_widen_the_cut() -> None:
    bites = (0.0, 0.01, 0.05)
    for family in ("ordinary", "webs", "combs"):
        board = board_of(layout(family, 2))
        cuts = measure(board, Reach(cut=TOP, copper=0.0, bites=bites)).gaps[0].widest_cut
        for bite in bites:
            alone = gaps_of(layout(family, 2), TOP, bite).widest_cut[bite]

            assert np.minimum(cuts[bite], TOP) == pytest.approx(np.minimum(alone, TOP), abs=0.001)
        for less, more in pairwise(bites):
            room = np.minimum(cuts[less] + 2 * (more - less), TOP)
            assert (np.minimum(cuts[more], TOP) >= room - 0.001).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_nearest_island_is_found_at_its_exact_distance(family: str) -> None:
    islands = layout(family, 31)
    gaps = gaps_of(islands)

    for k, island in enumerate(islands):
        nearest = min(gap_between(island, other) for other in islands if other is not island)
        found = gaps.distance[(gaps.islands == k).any(axis=1)].min(initial=np.inf)
        if nearest < TOP:
            assert found == pytest.approx(nearest, abs=1e-9)
        else:
            assert found >= TOP


@pytest.mark.parametrize("family", FAMILIES)
def test_a_place_stands_on_both_outlines_at_its_distance(family: str) -> None:
    islands = layout(family, 32)
    gaps = gaps_of(islands)

    assert np.hypot(*(gaps.a - gaps.b).T) == pytest.approx(gaps.distance, abs=1e-9)
    assert (gaps.islands[:, 0] < gaps.islands[:, 1]).all()
    assert (gaps.widest_cut[0.0] >= gaps.distance - 1e-9).all()
    for k, island in enumerate(islands):
        for column, points in enumerate((gaps.a, gaps.b)):
            own = points[gaps.islands[:, column] == k]
            assert not len(own) or to_edges(own, island).max() < 1e-9


layouts = st.tuples(st.sampled_from(tuple(FAMILIES)), st.integers(1000, 100_000))


@settings(max_examples=6)
@given(
    which=layouts,
    angle=st.sampled_from([0, 90, 180, 270]) | st.floats(0, 360),
    mirrored=st.booleans(),
    scale=st.just(1.0) | st.floats(0.5, 2.0),
    shift=st.tuples(st.floats(-300, 300), st.floats(-300, 300)),
    order=st.randoms(use_true_random=False),
)
def test_widest_cuts_do_not_depend_on_where_and_how_the_copper_lies(
    which: tuple[str, int],
    angle: float,
    mirrored: bool,
    scale: float,
    shift: tuple[float, float],
    order: Random,
) -> None:
    islands = layout(*which)
    rank = list(range(len(islands)))
    order.shuffle(rank)
    moved = []
    for k in rank:
        shape = affinity.rotate(islands[k], angle, origin=(0, 0))
        shape = affinity.scale(shape, -scale if mirrored else scale, scale, origin=(0, 0))
        moved.append(affinity.translate(shape, *shift))

    here = np.minimum(merge_widths(islands), TOP - 0.01)[np.ix_(rank, rank)]
    there = np.minimum(merge_widths(moved, scale * TOP) / scale, TOP - 0.01)

    assert there == pytest.approx(here, abs=0.001)


@settings(max_examples=5)
@given(which=layouts, drawn=st.randoms(use_true_random=False))
def test_more_copper_never_lets_a_wider_cutter_through(
    which: tuple[str, int], drawn: Random
) -> None:
    islands = layout(*which)
    x0, y0, x1, y1 = shapely.total_bounds(np.array(islands, dtype=object))
    added = [
        spot
        for spot in (
            shapely.Point(drawn.uniform(x0, x1), drawn.uniform(y0, y1)).buffer(
                drawn.uniform(0.02, 0.3), quad_segs=4
            )
            for _ in range(6)
        )
        if all(spot.distance(island) > 0.012 for island in islands)
    ][:1]
    n = len(islands)

    before = merge_widths(islands)
    after = merge_widths([*islands, *added])[:n, :n]

    # The cut around a needle or a dot may come out up to 10 um narrower than the truth.
    assert (after <= before + 0.010).all()
