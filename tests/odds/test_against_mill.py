"""The odds against a virtual mill that cuts the same boards with the same machines, on pixels."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from scipy.linalg import cholesky
from scipy.stats import norm

from checker.odds import Odds, odds_of
from checker.process.bit import Spread
from checker.process.model import Process
from tests.odds.boards import Milled, facts_of
from tests.odds.pairs import PAIRS, Judged, judged
from tests.oracles.mill import Sheet, Tool

BAR = 0.03
DRAWS = 400
FEW = 30


@cache
def judged_pair(name: str) -> Judged:
    with TemporaryDirectory() as folder:
        return judged(PAIRS[name], Path(folder), DRAWS)


@pytest.mark.parametrize(
    "name", ["slots 0.18", "dots 0.17", "film, lonely pads", "necks 0.04, long waves", "all"]
)
def test_odds_and_mill_judge_the_same_machines_alike(name: str, tmp_path: Path) -> None:
    found = judged(PAIRS[name], tmp_path, FEW)

    assert np.count_nonzero(found.ours != found.mill) <= 1
    assert found.mill.any()


@pytest.mark.long
@pytest.mark.parametrize("name", PAIRS)
def test_odds_agree_with_the_mill(name: str) -> None:
    found = judged_pair(name)

    assert found.ours.mean() == pytest.approx(found.mill.mean(), abs=BAR)


@pytest.mark.long
def test_pairs_spread_over_the_odds_and_the_ways_to_fail() -> None:
    found = {name: judged_pair(name) for name in PAIRS}

    whole = np.array([1 - one.mill.mean() for one in found.values()])
    assert np.count_nonzero((whole >= 0.05) & (whole <= 0.95)) >= 20
    low, middle, high = (
        np.count_nonzero((whole >= start) & (whole < end))
        for start, end in [(0.05, 0.35), (0.35, 0.65), (0.65, 0.95)]
    )
    assert min(low, middle, high) >= 4
    faults = [max(one.faults, key=lambda fault: one.faults[fault]) for one in found.values()]
    assert {"joined", "film", "severed", "ring"} <= set(faults)


# --- machines drawn by other means ----------------------------------------------------------

OWN_DRAWS = 3000
_NODES = 1.0  # mm between points at which the surface is drawn; waves are 5 mm and more


def quantile(of: Spread, share: float) -> float:
    """Of a two-piece normal distribution by its inverse, ends two standard deviations off."""
    low, high = (of.nominal - of.least) / 2, (of.most - of.nominal) / 2
    if low + high == 0:
        return of.nominal
    top = low / (low + high)
    if share < top:
        return float(of.nominal + low * norm.ppf(share / top / 2))
    return float(of.nominal + high * norm.ppf(0.5 + (share - top) / (1 - top) / 2))


def surfaces(sheet: Sheet, sd: float, wave: float, random: np.random.Generator) -> np.ndarray:
    """Fields over the sheet by the Cholesky factor of all their points' covariance."""
    places = sheet.surface(_NODES)
    flat = places.reshape(-1, 2)
    apart = np.hypot(*(flat[:, None] - flat).transpose(2, 0, 1))
    factor = cholesky(np.exp(-((apart / wave) ** 2)) + 1e-9 * np.eye(len(flat)), lower=True)
    numbers = random.standard_normal((len(flat), OWN_DRAWS))
    fields: np.ndarray = sd * (factor @ numbers).T.reshape(-1, *places.shape[:2])
    return fields


def milled_share(sheet: Sheet, holes: int, process: Process, random: np.random.Generator) -> float:
    """Share of boards that come out whole, of machines drawn here."""
    bit, machine = process.bit, process.machine
    assert bit is not None
    assert machine.wave is not None
    heights = surfaces(sheet, process.bed_error / 2, machine.wave, random)
    whole = 0
    for height in heights:
        tip, depth, runout, foil = (
            quantile(of, share)
            for of, share in zip(
                (bit.tip_width, bit.depth, bit.runout, process.foil), random.random(4), strict=True
            )
        )
        off = machine.registration / 2 * random.standard_normal(2)
        off = off + process.drills.wander / 2 * random.standard_normal((holes, 2))
        whole += not sheet.faults(Tool(bit.shape, tip, bit.angle, depth, foil, runout), height, off)
    return whole / len(heights)


@pytest.mark.long
@pytest.mark.parametrize("name", ["dots 0.17", "film, half the time", "rings 0.075", "all"])
def test_odds_agree_with_a_mill_that_draws_by_itself(name: str, tmp_path: Path) -> None:
    layout, process = PAIRS[name].layout, PAIRS[name].process
    facts = facts_of(layout, process, tmp_path)
    milled = Milled.of(layout, facts.board)

    share = milled_share(milled.sheets[1], milled.holes, process, np.random.default_rng(11))

    odds = odds_of(facts, process, 8000)
    assert isinstance(odds, Odds)
    assert odds.share == pytest.approx(share, abs=BAR)
