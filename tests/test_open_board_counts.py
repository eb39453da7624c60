"""How many findings each rule has on open boards: a change in them wants to be looked at.

`CUTWORTHY_REWRITE=1` writes the counts anew, with `-m "long or not long"` those of every board.
Boards that take more than a few seconds are left out.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

import pytest

from checker.engine import check
from checker.process import load_profile
from checker.process.load import DEFAULT_PROFILE
from checker.read import read_board
from tests.read.made import BOARDS, needs_boards

COUNTS = Path(__file__).parent / "golden" / "open-boards.json"
EXPECTED: dict[str, dict[str, int]] = json.loads(COUNTS.read_text(encoding="utf-8"))
DEAR = (
    *("carte-test", "clockblock", "freeduino", "freevse", "herovco-back", "mppt-2420"),
    *("pmw3360-fusion", "simplefoc-shield"),
)
"""Boards on which no rule speaks that is silent on all others."""


@needs_boards
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[pytest.mark.long] * (name in DEAR)) for name in EXPECTED],
)
def test_findings_of_each_rule_on_an_open_board(name: str) -> None:
    report = check(read_board([BOARDS / name]), load_profile(DEFAULT_PROFILE))
    found = dict(sorted(Counter(finding.rule for finding in report.findings).items()))
    if os.environ.get("CUTWORTHY_REWRITE") == "1":
        counts = json.loads(COUNTS.read_text(encoding="utf-8")) | {name: found}
        COUNTS.write_text(json.dumps(counts, indent=1) + "\n", encoding="utf-8", newline="\n")

    assert found == json.loads(COUNTS.read_text(encoding="utf-8"))[name]


def test_counts_are_of_many_boards_and_rules() -> None:
    assert len(EXPECTED) >= 15
    assert len(set().union(*EXPECTED.values())) >= 15


def test_boards_that_are_counted_by_default_have_every_rule() -> None:
    quick = (rules for name, rules in EXPECTED.items() if name not in DEAR)

    assert set().union(*quick) == set().union(*EXPECTED.values())
