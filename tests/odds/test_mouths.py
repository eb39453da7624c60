"""The widest cut at a loss by taper, against closed forms of round pads and slots."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from checker.odds.mouths import between, mouths_of
from tests.odds.boards import facts_of, shop
from tests.odds.pairs import dots, slots

if TYPE_CHECKING:
    from pathlib import Path


def meeting(radius: float, gap: float, less: float) -> float:
    """The widest f with f² = 2 (w - d) (2 R + (w + d) / 2), w = f + less: two stops just meet."""
    cuts = np.linspace(gap - less, gap + 0.2, 200_001)
    led = cuts + less
    meets = cuts**2 >= 2 * (led - gap) * (2 * radius + (led + gap) / 2)
    return float(cuts[meets].max())


@pytest.mark.parametrize("less", [0.01, 0.02, 0.04])
def test_round_pads_need_a_narrower_path(less: float, tmp_path: Path) -> None:
    facts = facts_of(dots(0.2), shop(), tmp_path)

    once, twice = mouths_of(facts, 0, 0.0, less).widest(np.array([0]))

    assert once[0] == pytest.approx(meeting(0.4, 0.2, less), abs=0.003)
    assert twice[0] == pytest.approx(meeting(0.4, 0.2, 2 * less), abs=0.003)


def test_slot_loses_what_the_cut_loses(tmp_path: Path) -> None:
    facts = facts_of(slots(0.2), shop(), tmp_path)

    once, twice = mouths_of(facts, 0, 0.0, 0.02).widest(np.array([0]))

    assert (once[0], twice[0]) == pytest.approx((0.18, 0.16), abs=0.002)


def test_between_goes_through_what_was_measured() -> None:
    none, widest = np.array([0.25]), np.array([[0.22], [0.195]])
    loss = np.array([[0.0], [1.0], [2.0]])

    assert between(none, widest, loss, 0.02)[:, 0] == pytest.approx([0.25, 0.22, 0.195])


def test_unmeasured_gap_falls_twice_as_fast_as_the_loss() -> None:
    none, widest = np.array([0.25]), np.full((2, 1), np.nan)

    assert between(none, widest, np.array([[1.5]]), 0.02)[0, 0] == pytest.approx(0.25 - 0.06)


def test_gap_wider_than_looked_for_opens_unless_found_joined() -> None:
    far = np.array([np.inf, np.inf])
    widest = np.array([[np.inf, 0.4], [np.inf, 0.38]])

    cut = between(far, widest, np.array([[0.5]]), 0.02)[0]

    assert cut == pytest.approx([np.inf, 0.41])
