"""What is told of files that do not lie on each other; what is measured has tests of its own."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Outline, Unchecked
from checker.findings import Observation, State
from checker.measure import Facts, Reach
from checker.read import read_board
from tests.handmade import PLAIN, Copper, layer, rule, square

NAME = "misfit-sides"
SAMPLES = Path(__file__).parents[2] / "samples" / "rules" / NAME
LEADS = ((3.0, 2.0), (5.54, 2.0), (9.0, 14.0), (19.16, 14.0), (12.0, 5.5), (22.0, 3.0), (4.0, 11.0))


def board(
    copper: dict[str, tuple[tuple[float, float], ...]], drilled: tuple[tuple[float, float], ...]
) -> Board:
    layers = [
        layer(side, [(Copper(), square(x, y, 1.8)) for x, y in places])
        for side, places in copper.items()
    ]
    holes = tuple(Hole((place,), 0.8, None, None, "d", 1) for place in drilled)
    return Board("b", (), tuple(layers), holes)


def told(given: Board) -> list[Observation | Unchecked]:
    return list(rule(NAME).check(Facts(given, Reach(), (), ()), PLAIN))


def moved(dx: float, dy: float) -> tuple[tuple[float, float], ...]:
    return tuple((x + dx, y + dy) for x, y in LEADS)


MIRRORED = tuple((25.0 - x, y) for x, y in LEADS)


def test_files_that_fit_say_nothing() -> None:
    assert told(board({"top": LEADS, "bottom": LEADS}, LEADS)) == []


def test_a_mirrored_bottom_is_told_with_the_axis() -> None:
    (one,) = told(board({"top": LEADS, "bottom": MIRRORED}, LEADS))

    assert isinstance(one, Observation)
    assert one.message == (
        "0 of 7 holes meet a pad of the bottom, 7 would if the bottom were mirrored left to right"
    )
    assert one.remedy == (
        "Mirror the bottom about x = 12.50 mm, or export all files as seen from the top"
    )
    assert (one.side, one.state) == ("bottom", State.NOT_MAKEABLE)


def test_a_bottom_mirrored_top_to_bottom_is_told_with_the_other_axis() -> None:
    below = tuple((x, 16.0 - y) for x, y in LEADS)

    (one,) = told(board({"top": LEADS, "bottom": below}, LEADS))

    assert isinstance(one, Observation)
    assert one.remedy.startswith("Mirror the bottom about y = 8.00 mm")


def test_holes_that_miss_both_sides_are_told_once_with_how_far_to_move_them() -> None:
    (one,) = told(board({"top": LEADS, "bottom": LEADS}, moved(12.7, -0.635)))

    assert isinstance(one, Observation)
    assert one.message == (
        "0 of 7 holes meet a pad of the top and bottom, "
        "7 would if the holes were moved by -12.700, 0.635 mm"
    )
    assert one.remedy == (
        "Move the holes by -12.700, 0.635 mm, or export all files with one origin"
    )
    assert one.side is None


def test_of_one_side_and_its_holes_either_may_be_off() -> None:
    (one,) = told(board({"bottom": LEADS}, MIRRORED))

    assert isinstance(one, Observation)
    assert one.remedy.startswith("Mirror the bottom or the holes about x = 12.50 mm")


def test_a_turned_side() -> None:
    turned = tuple((-y, x) for x, y in LEADS)

    (one,) = told(board({"top": LEADS, "bottom": turned}, LEADS))

    assert isinstance(one, Observation)
    assert one.remedy == "Export the bottom again, turned by 270 degrees"


def test_an_edge_beside_the_copper() -> None:
    aside = Outline(shapely.multipolygons([shapely.box(50, 0, 74, 16)]), "p", "by hand")

    (one,) = told(replace(board({"bottom": LEADS}, LEADS), stray_outline=aside))

    assert isinstance(one, Observation)
    assert one.message == (
        "0 of 7 islands of copper lie inside the edge, "
        "whose middle lies -49.500, 0.000 mm from the copper's"
    )
    assert one.remedy.startswith("Move the edge by -49.500, 0.000 mm, middle to middle")


@pytest.mark.parametrize(
    ("given", "why"),
    [
        (board({"bottom": LEADS}, ()), "no holes, and no second side to compare with"),
        (
            board({"bottom": LEADS[:4]}, ((3.0, 9.0), (8.0, 1.0), (7.3, 6.0), (19.0, 3.0))),
            "0 of 4 holes meet a pad of the bottom, too few to judge by",
        ),
        (
            board({"top": LEADS[:2], "bottom": ((90.0, 90.0), (80.0, 70.0))}, ()),
            "0 of 2 pads meet a pad of the top, too few to judge by",
        ),
    ],
    ids=["nothing to compare", "few holes", "few pads"],
)
def test_what_cannot_be_judged_is_unchecked(given: Board, why: str) -> None:
    assert told(given) == [Unchecked("the fit of the files to each other", why)]


@pytest.mark.parametrize("count", [3, 5])
def test_a_side_that_few_holes_show_mirrored_is_a_guess_and_not_checked(count: int) -> None:
    given = board({"top": LEADS[:count], "bottom": MIRRORED[:count]}, LEADS[:count])

    guess, unsure = told(given)

    assert isinstance(guess, Observation)
    assert guess.message == (
        f"0 of {count} holes meet a pad of the bottom, {count} would if the bottom were mirrored "
        "left to right: so few may do so by chance"
    )
    assert guess.remedy == (
        "Lay the files over each other; if it is so, mirror the bottom about x = 12.50 mm, or "
        "export all files as seen from the top"
    )
    assert (guess.side, guess.state) == ("bottom", State.MARGINAL)
    assert unsure == Unchecked(
        "the fit of the files to each other",
        f"0 of {count} holes meet a pad of the bottom, too few to judge by",
    )


def test_of_five_holes_three_on_pads_are_no_sign_that_a_side_is_not_mirrored() -> None:
    leads = ((3.0, 2.0), (22.0, 2.0), (12.5, 9.0), (9.0, 14.0), (19.0, 5.0))
    below = tuple((25.0 - x, y) for x, y in leads)

    guess, unsure = told(board({"top": leads, "bottom": below}, leads))

    assert isinstance(guess, Observation)
    assert guess.message.startswith("3 of 5 holes meet a pad of the bottom, 5 would if")
    assert isinstance(unsure, Unchecked)


def test_two_holes_suggest_nothing() -> None:
    given = board({"top": LEADS[:2], "bottom": MIRRORED[:2]}, LEADS[:2])

    assert [type(one) for one in told(given)] == [Unchecked]


def test_holes_that_fall_on_some_of_many_pads_suggest_nothing() -> None:
    grid = tuple((2.54 * i, 2.54 * j) for i in range(5) for j in range(4))
    drilled = tuple((x + 1.27, y + 1.27) for x, y in grid[:4])

    assert [type(one) for one in told(board({"bottom": grid}, drilled))] == [Unchecked]


def test_a_difference_of_size_is_left_to_another_rule() -> None:
    small = tuple((x / 25.4, y / 25.4) for x, y in LEADS)

    assert told(board({"bottom": LEADS}, small)) == []


def test_the_sample_is_mirrored_about_its_middle() -> None:
    (one,) = told(read_board([SAMPLES / "bad"]))

    assert isinstance(one, Observation)
    assert one.message.startswith("0 of 8 holes meet a pad of the bottom, 8 would")
    assert "about x = 30.00 mm" in one.remedy
