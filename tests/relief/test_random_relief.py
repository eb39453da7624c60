"""Relief of random boards, judged by the full closing and by shapely: nothing lost, all opened."""

from __future__ import annotations

import pytest

from tests.layouts import ADVERSARIAL, FAMILIES
from tests.relief.judged import faults
from tests.relief.made import drawn_texts, layout_texts, relieved, texts_after

LONG = 112  # boards of each family, with a layout on either side: 2016 layouts
SPLIT = 185  # a drawn board whose pad would be told as crowded thrice once one gap is half open


@pytest.mark.parametrize("seed", [*range(5), SPLIT])
def test_drawn_boards_lose_nothing_and_what_is_claimed_is_open(seed: int) -> None:
    made = relieved(drawn_texts(seed))

    assert faults(made) == []


@pytest.mark.parametrize("family", FAMILIES)
def test_random_copper_loses_nothing_and_what_is_claimed_is_open(family: str) -> None:
    made = relieved(layout_texts(family, 3))

    assert faults(made) == []


@pytest.mark.parametrize("seed", [0, 7])
def test_relief_of_a_relieved_board_changes_nothing(seed: int) -> None:
    texts = drawn_texts(seed)
    once = texts_after(texts, relieved(texts))

    again = relieved(once)

    assert again.files == {}


@pytest.mark.long
@pytest.mark.parametrize("family", ["ordinary", *ADVERSARIAL])
def test_thousands_of_random_boards_lose_nothing(family: str) -> None:
    found = {seed: faults(relieved(layout_texts(family, seed))) for seed in range(LONG)}

    assert {seed: wrong for seed, wrong in found.items() if wrong} == {}


@pytest.mark.long
@pytest.mark.parametrize("profile", ["cone-20-0.1", "flat-0.4"])
def test_many_drawn_boards_lose_nothing(profile: str) -> None:
    found = {seed: faults(relieved(drawn_texts(seed), profile)) for seed in range(LONG)}

    assert {seed: wrong for seed, wrong in found.items() if wrong} == {}
