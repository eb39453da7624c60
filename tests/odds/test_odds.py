"""Odds against closed forms: one gap, one film, holes by themselves."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import norm

from checker.board import Unchecked
from checker.odds import Odds, odds_of
from checker.process import load_profile
from tests.handmade import PLAIN, Gap, exactly, facts, on_board, spread
from tests.odds.boards import by_sd, facts_of, pad, plain, shop
from tests.odds.pairs import lonely, rings, slots

if TYPE_CHECKING:
    from pathlib import Path

    from checker.measure import Facts
    from checker.process.model import Process

N = 4000


def told(facts: Facts, process: Process, draws: int = N, seed: int = 1) -> Odds:
    odds = odds_of(facts, process, draws, seed)
    assert isinstance(odds, Odds)
    return odds


def near(share: float) -> object:
    """Within four standard errors of the share that is right."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / N) + 1e-9)


# --- closed forms ---------------------------------------------------------------------------


@pytest.mark.parametrize("fits", [0.36, 0.4, 0.43])
def test_one_gap_opens_as_the_normal_distribution_says(fits: float) -> None:
    # An end mill of 0.4 mm that scatters by 0.02: it passes while it is no wider than the gap.
    process = shop("flat", by_sd(0.4, 0.02))

    odds = told(facts([Gap(fits)]), process)

    assert odds.share == near(float(norm.cdf((fits - 0.4) / 0.02)))


def test_cone_scatters_with_tip_and_depth() -> None:
    process = shop(tip=by_sd(0.1, 0.01), angle=90, depth=by_sd(0.1, 0.01))

    odds = told(facts([Gap(0.31)]), process)

    assert odds.share == near(float(norm.cdf(0.01 / np.hypot(0.01, 2 * 0.01))))


def test_measured_width_replaces_geometry() -> None:
    process = shop(tip=by_sd(0.1, 0.04), angle=90)
    assert process.bit is not None
    measured = replace(process, bit=replace(process.bit, measured_width=by_sd(0.3, 0.01)))

    odds = told(facts([Gap(0.31)]), measured)

    assert odds.share == near(float(norm.cdf(1.0)))


def test_sides_are_set_up_each_by_itself() -> None:
    process = shop(angle=90, depth=by_sd(0.1, 0.01))

    odds = told(facts([Gap(0.3), Gap(0.3, side="bottom")]), process)

    assert odds.share == near(0.25)


def test_film_on_a_board_without_waves(tmp_path: Path) -> None:
    # Much smaller than the correlation length: the whole of it lies high or low.
    process = shop(depth=by_sd(0.06, 0.01), foil=by_sd(0.035, 0.002), bed=0.02, wave=200)

    odds = told(facts_of(lonely(), process, tmp_path), process)

    assert odds.share == near(float(norm.cdf(0.025 / np.sqrt(0.01**2 + 0.002**2 + 0.02**2))))
    assert [one.kind for one in odds.spoilers] == ["film"]


@pytest.mark.parametrize("count", [1, 6])
def test_holes_break_out_as_rayleigh_says(count: int, tmp_path: Path) -> None:
    # Off by 0.04 in x and in y: farther than a ring r with the odds exp(-r² / (2 · 0.04²)).
    process = shop("beam", wander=0.04)
    board = facts_of(rings(1.0, 0.8, count=count), process, tmp_path)

    odds = told(board, process)

    assert odds.share == near(float((1 - np.exp(-(0.1**2) / (2 * 0.04**2))) ** count))


def test_registration_takes_all_holes_along(tmp_path: Path) -> None:
    process = shop("beam", registration=0.04)
    board = facts_of(rings(1.0, 0.8, count=6), process, tmp_path)

    odds = told(board, process)

    assert odds.share == near(float(1 - np.exp(-(0.1**2) / (2 * 0.04**2))))


def test_square_pad_has_more_room_towards_its_corners(tmp_path: Path) -> None:
    # x and y by themselves: the hole stays in while neither leaves ± 0.1. The trace of 0.3 mm
    # leaves upwards and is narrower than the hole, so it gives no room.
    process = shop("beam", wander=0.05)
    board = facts_of(rings(1.0, 0.8, "rect", count=1), process, tmp_path)

    odds = told(board, process)

    assert odds.share == near(float((2 * norm.cdf(2.0) - 1) ** 2))


# --- what is told ---------------------------------------------------------------------------


def test_error_is_the_standard_error() -> None:
    odds = told(facts([Gap(0.4)]), shop("flat", by_sd(0.4, 0.02)))

    assert odds.error == pytest.approx(np.sqrt(odds.share * (1 - odds.share) / N))


@pytest.mark.parametrize(("fits", "share"), [(0.8, 1.0), (0.2, 0.0)])
def test_rule_of_three_where_nothing_varies_the_answer(fits: float, share: float) -> None:
    odds = told(facts([Gap(fits)]), shop("flat", by_sd(0.4, 0.02)))

    assert (odds.share, odds.error) == (share, 3 / N)


def test_same_seed_same_odds(tmp_path: Path) -> None:
    process = shop(tip=by_sd(0.1, 0.02), bed=0.02, wander=0.02)
    board = facts_of(slots(0.18), process, tmp_path)

    assert odds_of(board, process, 500, 3) == odds_of(board, process, 500, 3)


def test_wider_spread_of_a_board_with_room_is_never_better() -> None:
    shares = [
        told(facts([Gap(0.45)]), shop("flat", by_sd(0.4, sd))).share for sd in (0.01, 0.02, 0.05)
    ]

    assert shares == sorted(shares, reverse=True)


def test_spoiler_says_what_and_where(tmp_path: Path) -> None:
    process = shop("flat", by_sd(0.4, 0.02))
    layout = plain()
    for k, gap in enumerate((0.4, 0.43)):
        pad(layout, 3.0, 3.0 + 4 * k, f"A{k}", 1.0)
        pad(layout, 4.0 + gap, 3.0 + 4 * k, f"B{k}", 1.0)

    odds = told(facts_of(layout, process, tmp_path), process)

    [worst] = odds.spoilers
    assert worst.what == "gap 0.400 mm between P1.1 (A0) and P2.1 (B0) stays closed"
    assert (worst.side, worst.nets, worst.others) == ("bottom", ("A0", "B0"), 0)
    assert (worst.x, worst.y) == pytest.approx((3.7, 3.0), abs=0.01)
    assert worst.share == near(0.5)


def test_beam_knows_no_film_and_says_so(tmp_path: Path) -> None:
    process = shop("beam", by_sd(0.1, 0.01))

    odds = told(facts_of(slots(0.2), process, tmp_path), process)

    assert any("beam has no depth" in one for one in odds.assumed)
    assert odds.share == 1.0


def test_gaps_beyond_what_was_measured_are_told() -> None:
    process = shop("flat", by_sd(9.9, 0.2))

    odds = told(facts([Gap(0.4)]), process)

    assert any("10.000 mm are taken to open" in one for one in odds.assumed)


def test_share_of_cuts_beyond_what_was_measured_is_told() -> None:
    process = shop("flat", by_sd(9.9, 0.2))  # half a standard deviation below 10 mm

    told_of = " ".join(told(facts([Gap(0.4)]), process).assumed)

    share = re.search(r"though ([\d.]+) % of the cuts come out wider", told_of)
    assert share is not None
    assert float(share[1]) / 100 == near(0.3085)


def test_cuts_that_are_all_wider_than_what_was_measured_are_told_as_all() -> None:
    process = shop("flat", by_sd(20.0, 0.2))

    odds = told(facts([Gap(0.4)]), process)

    assert any("though all cuts come out wider" in one for one in odds.assumed)


def test_board_whose_drill_file_is_missing_says_that_no_ring_breaks() -> None:
    board = facts([Gap(0.4)])
    unread = replace(board.board, unchecked=(Unchecked("holes", "no drill file"),))

    odds = told(on_board(board, unread), shop())

    assert "No holes are known, so no ring breaks" in odds.assumed


# --- what cannot be said --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("etch", "etching has no bit whose width could vary"),
        ("perfboard", "perfboard cuts nothing"),
    ],
)
def test_method_without_a_bit_has_no_odds(name: str, why: str) -> None:
    assert odds_of(facts([Gap(0.4)]), load_profile(name)) == Unchecked("odds", why)


def test_unevenness_without_its_wave_has_no_odds() -> None:
    process = shop(bed=0.02)
    silent = replace(process, machine=replace(process.machine, wave=None))

    odds = odds_of(facts([Gap(0.4)]), silent)

    assert odds == Unchecked("odds", "the profile sets no machine.wave")


def test_board_without_copper_has_no_odds() -> None:
    odds = odds_of(facts([], sides=("top",)), shop())

    assert odds == Unchecked("odds", "no outer side holds any copper")


def test_process_without_spreads_is_sure_of_itself() -> None:
    odds = told(facts([Gap(0.4)]), shop("flat", exactly(0.3)))

    assert odds.share == 1.0


def test_process_of_hand_has_no_bit() -> None:
    assert isinstance(odds_of(facts([Gap(0.4)]), PLAIN), Unchecked)


def test_spread_of_the_foil_counts() -> None:
    thin = told(facts([Gap(0.4)]), shop(depth=exactly(0.04), foil=spread(0.035, 0.01)))

    assert thin.share == near(float(norm.cdf(1.0)))
