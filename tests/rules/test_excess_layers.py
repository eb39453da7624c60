from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board
from checker.findings import State
from checker.measure import Facts, Reach
from tests.handmade import PLAIN, Copper, layer, seen, square

NAME = "excess-layers"
FOUR = ("top", "inner 1", "inner 2", "bottom")


def board(sides: tuple[str, ...], empty: tuple[str, ...] = ()) -> Facts:
    piece = [(Copper(), square(0, 0))]
    layers = tuple(layer(side, [] if side in empty else piece) for side in sides)
    return Facts(Board("layers", (), layers), Reach(), (), ())


@pytest.mark.parametrize(
    ("sides", "layer_count", "caught"),
    [
        (("top",), 1, False),
        (("top", "bottom"), 1, True),
        (("top", "bottom"), 2, False),
        (("top", "inner 1"), 2, True),
        (FOUR, 2, True),
        (FOUR, 3, True),
        (FOUR, 4, False),
    ],
    ids=lambda value: str(value),
)
def test_layers_are_counted_and_inner_ones_need_more_than_two(
    sides: tuple[str, ...], layer_count: int, caught: bool
) -> None:
    found = seen(NAME, board(sides), replace(PLAIN, layer_count=layer_count))

    assert [one.state for one in found] == [State.NOT_MAKEABLE] * caught


def test_a_layer_without_copper_does_not_count() -> None:
    found = seen(NAME, board(FOUR, empty=("inner 1", "inner 2")), replace(PLAIN, layer_count=2))

    assert found == []


@given(st.integers(1, 8), st.integers(1, 8))
def test_a_process_of_more_layers_never_refuses_more(count: int, other: int) -> None:
    fewer, more = sorted((count, other))

    assert len(seen(NAME, board(FOUR), replace(PLAIN, layer_count=more))) <= len(
        seen(NAME, board(FOUR), replace(PLAIN, layer_count=fewer))
    )


def test_the_message_counts_and_names_the_layers() -> None:
    # That a home-made board has two sides at most is common trade practice.
    (found,) = seen(NAME, board(FOUR), replace(PLAIN, layer_count=2))

    assert found.message == (
        "4 layers of copper (top, inner 1, inner 2, bottom), the process makes 2 layers"
    )
    assert found.remedy == (
        "Lay it out on the two outer sides alone, or have this board made by a board house"
    )
    assert found.side is None


def test_one_side_too_many_asks_for_wires() -> None:
    (found,) = seen(NAME, board(("top", "bottom")), replace(PLAIN, layer_count=1))

    assert found.remedy == "Lay it out on 1 layer, with wires for what does not fit"
