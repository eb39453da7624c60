from __future__ import annotations

import json as reader
import re
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.board import Note, Unchecked
from checker.comparison import Comparison, Pair, compare
from checker.odds import Odds, Spoiler
from checker.process import load_profile
from checker.read import read_board
from checker.report import comparison_json, comparison_text, json, text
from tests.report.made import EVIL
from tests.report.test_text import Terminal

BOARDS = Path(__file__).parents[2] / "samples" / "boards"
NAMES = ("cone-30-0.1", "cone-60-0.2", "flat-0.8", "laser", "etch", "perfboard")


@cache
def found() -> Comparison:
    return compare(read_board([BOARDS / "hive-scale"]), [load_profile(name) for name in NAMES])


def printed(comparison: Comparison, every: bool = False) -> str:
    return text.render(comparison_text.comparison_text(comparison, 0.42, every), None)


def line(comparison: Comparison, name: str) -> str:
    return next(one for one in printed(comparison).splitlines() if one.startswith(name))


def test_best_is_the_first_line_of_the_table() -> None:
    lines = printed(found()).splitlines()

    assert lines[0] == "hive-scale (84.0 x 56.0 mm) by 6 processes, best first"
    assert lines[4].startswith(f"cone-30-0.1  {found().rows[0].verdict.value}")


def test_no_column_is_cut_off() -> None:
    told = replace(
        found(), rows=tuple(replace(row, odds=Odds(1.0, 0.0, 9, (), ())) for row in found().rows)
    )

    assert "…" not in printed(told)
    assert max(map(len, printed(told).splitlines())) <= text.PIPED_WIDTH


def test_a_hopeless_bit_is_told_its_places_its_lack_and_no_depth() -> None:
    row = next(row for row in found().rows if row.process.name == "flat-0.8")

    cells = line(found(), "flat-0.8").split()

    assert row.margin is not None
    assert cells[1:6] == [
        "not",
        "makeable",
        f"{row.closed}{'+' * row.at_least}",
        f"{row.margin:.3f}",
        "none",
    ]


def test_what_stops_at_the_reach_says_so() -> None:
    row = next(row for row in found().rows if row.beyond)

    assert row.margin is not None
    assert f" {row.margin:.3f}+ " in line(found(), row.process.name)


def test_a_profile_without_spread_is_told_to_carry_no_margin(tmp_path: Path) -> None:
    bare = tmp_path / "bare.yaml"
    bare.write_text(
        "method: milling\nfoil: 35 um\nbed_error: 0\n"
        "bit: {shape: flat, diameter: 0.3, depth: 0.1, runout: 0}\n"
    )

    shown = printed(compare(read_board([BOARDS / "hive-scale"]), [load_profile(bare)]))

    assert "bare: the profile gives no spread: verdicts carry no margin" in shown
    assert shown.splitlines()[4].split()[3] == "?"


def test_each_that_fails_has_one_line_of_change_and_all_with_every() -> None:
    brief, full = printed(found()), printed(found(), every=True)

    assert "What would help the others" in brief
    assert "In the layout:" in brief
    assert "uncuttable-gap" not in brief
    assert "uncuttable-gap" in full
    assert len(full) > len(brief)


def test_methods_are_told_what_they_leave_to_hands_and_what_to_mind() -> None:
    shown = printed(found())

    for method in ("milling", "laser", "etching", "perfboard"):
        assert f"   {method}: " in shown
    assert "Mind: " in shown


def test_every_tool_is_told_with_way_time_and_wear_with_every() -> None:
    shown = printed(found(), every=True)

    assert re.search(
        r"cone 30 deg, tip 0.10 mm: [\d.]+ m, .* % of a tip's life \(cone-30-0.1\)", shown
    )
    assert re.search(r"drill 0.90 mm: \d+ hits, ", shown)
    assert "cutter 1.00 mm: " in shown
    assert "Tools" not in printed(found())


def test_what_was_not_checked_is_told_with_the_processes_it_is_told_of() -> None:
    depth = "depth of the cut: a beam's depth follows from power and passes"

    shown = " ".join(printed(found()).split())

    assert "Not checked voltages and currents: no net has a voltage or a current" in shown
    assert re.search(rf"{depth}, which the profile does not give \(laser\)", shown)


def test_of_two_lists_of_processes_the_shorter_is_told() -> None:
    entry = Unchecked("burnt edges", "nobody looked")
    row = next(row for row in found().rows if not row.partly)
    named = [
        replace(row, process=replace(row.process, name=name), unchecked=unchecked)
        for name, unchecked in (("a", (entry,)), ("b", (entry,)), ("c", ()))
    ]

    shown = printed(replace(found(), rows=tuple(named)))

    assert "burnt edges: nobody looked (all but c)" in shown
    assert "burnt edges: nobody looked (b)" in printed(replace(found(), rows=(named[1], named[2])))


def test_remarks_on_the_files_are_told() -> None:
    board = replace(found().board, notes=(Note("a.gbr", 7, "odd"),))

    assert "Remarks on the files\n   a.gbr:7: odd\n" in printed(replace(found(), board=board))


def test_those_that_fail_by_their_gaps_alone_are_named() -> None:
    def told(*partly: str) -> str:
        rows = [replace(row, partly=row.process.name in partly) for row in found().rows]
        return " ".join(printed(replace(found(), rows=tuple(rows))).split())

    rest = "gaps, so no other rule was asked: check tells the rest"
    assert {row.process.name for row in found().rows if row.partly} == {"flat-0.8"}
    assert f"Gaps alone: flat-0.8 fails by its {rest}" in told("flat-0.8")
    assert f"Gaps alone: etch, flat-0.8 fail by their {rest}" in told("flat-0.8", "etch")
    most = NAMES[1:]
    assert f"Gaps alone: all but cone-30-0.1 fail by their {rest}" in told(*most)
    assert f"Gaps alone: all fail by their {rest}" in told(*NAMES)
    assert "Gaps alone" not in told()


def test_waivers_that_a_comparison_passes_over_are_counted() -> None:
    shown = text.render(comparison_text.comparison_text(found(), 0.42, waivers=2), None)

    assert "2 waivers for this board are passed over here: check counts them" in shown
    assert "waiver" not in printed(found())


def test_those_for_which_relief_was_not_planned_are_named_where_it_was_asked_for() -> None:
    def told(relief: bool, of: tuple[int, int] | None) -> str:
        rows = [replace(row, relief=(row.closed and of) or None) for row in found().rows]
        shown = comparison_text.comparison_text(
            replace(found(), rows=tuple(rows)), 0.42, relief=relief
        )
        return " ".join(text.render(shown, None).split())

    names = ", ".join(row.process.name for row in found().rows if row.closed and row.process.cut)
    assert names
    assert f"Relief: {names}: too many gaps are too narrow" in told(True, None)
    assert "too many gaps" not in told(True, (1, 2))
    assert "too many gaps" not in told(False, None)


def test_a_pair_is_told_with_what_it_saves() -> None:
    pair = Pair("cone-30-0.1", "flat-0.4", 1.23, 4.56, 65.0, 12.0)

    assert (
        "Two bits: cone-30-0.1 only where flat-0.4 does not fit (1.2 m), flat-0.4 for the rest "
        in printed(replace(found(), pair=pair))
    )


def test_odds_that_are_alike_are_told_together_with_what_is_assumed() -> None:
    spoiler = Spoiler("gap 0.200 mm between A and B stays closed", "gap", "top", 1, 2, (), 0.3, 0)
    odds = Odds(0.7, 0.01, 2000, (spoiler,), ("the bed is alike over 20 mm",))
    first, second, third, *rest = found().rows
    rows = (
        replace(first, odds=odds),
        replace(second, odds=odds),
        replace(third, odds=Unchecked("odds", "a reason")),
    )

    shown = printed(replace(found(), rows=(*rows, *rest)))

    names = f"{first.process.name}, {second.process.name}"
    assert f"{names}: 70.0 % ± 1.0, spoiled most often by: gap 0.200 mm" in shown
    assert f"{third.process.name}: not worked out, a reason" in shown
    assert "Assumed: The bed is alike over 20 mm." in shown


def test_what_is_assumed_for_one_process_alone_names_it() -> None:
    first, second, *rest = found().rows
    rows = (
        replace(first, odds=Odds(0.7, 0.01, 2000, (), ("the bed is flat", "gaps open"))),
        replace(second, odds=Odds(0.6, 0.01, 2000, (), ("the bed is flat",))),
    )

    shown = printed(replace(found(), rows=(*rows, *rest)))

    assert f"Assumed: The bed is flat. Gaps open ({first.process.name})." in shown


@pytest.mark.parametrize("width", [40, 72])
def test_narrow_terminals_get_a_list(width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(width))

    shown = text.render(comparison_text.comparison_text(found(), 0.42), Terminal())

    assert "1. cone-30-0.1" in shown
    assert "closed 0, margin" in " ".join(shown.split())


def test_names_from_files_do_no_harm() -> None:
    rows = (replace(found().rows[0], process=replace(found().rows[0].process, name=EVIL)),)
    evil = replace(found(), board=replace(found().board, name=EVIL), rows=rows)

    shown = printed(evil)

    assert "\x1b" not in shown
    assert "\u202e" not in shown


def test_document_says_what_the_text_says() -> None:
    document = reader.loads(json.dumps(comparison_json.comparison_document(found())))

    assert document["schema"] == "cutworthy.comparison/1"
    assert [one["name"] for one in document["processes"]] == [
        row.process.name for row in found().rows
    ]
    for one, row in zip(document["processes"], found().rows, strict=True):
        assert one["verdict"] == row.verdict.value
        assert one["closed_gaps"] == row.closed
        assert one["profile"]["name"] == row.process.name
        assert len(one["changes"]) == len(row.changes)


def test_two_runs_give_the_same_bytes() -> None:
    again = compare(read_board([BOARDS / "hive-scale"]), [load_profile(name) for name in NAMES])

    one, other = (
        json.dumps(comparison_json.comparison_document(each)) for each in (found(), again)
    )
    assert one == other
