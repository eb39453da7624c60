from __future__ import annotations

import os
import re
import shutil
import sys
import zipfile
from pathlib import Path

import pytest

from checker.report.lines import concise, github
from tests.report.judging import EVIL, SAMPLES, evil_board, judge, sample

GAP, CLEAN = "rules/uncuttable-gap/bad", "rules/uncuttable-gap/good"
# A workflow command, as the runner takes it apart (workflow commands, GitHub's documentation).
COMMAND = re.compile(r"^::(error|warning|notice) ([^\r\n]*?)::(.*)$")


def commands(text: str) -> list[tuple[str, dict[str, str], str]]:
    """Every command with its properties and message, percent codes undone last to first."""
    found = []
    for line in text.splitlines():
        match = COMMAND.fullmatch(line)
        assert match is not None, line
        parts = (part.partition("=") for part in match[2].split(","))
        properties = {key: value.replace("%2C", ",").replace("%3A", ":") for key, _, value in parts}
        found.append(
            (
                match[1],
                {key: _undone(value) for key, value in properties.items()},
                _undone(match[3]),
            )
        )
    return found


def _undone(text: str) -> str:
    return text.replace("%0D", "\r").replace("%0A", "\n").replace("%25", "%")


def test_a_finding_is_one_line_with_file_place_severity_rule_and_id(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(SAMPLES)
    found = sample(GAP).report.findings

    lines = concise([sample(GAP)]).splitlines()

    assert lines[0].startswith(
        f"{GAP}/copper-bottom.gbr:bottom:9.655,7.500: error uncuttable-gap Gap 0.150 mm"
    )
    assert [re.search(r"\((\w+)\)$", line)[1] for line in lines[:2]] == [  # type: ignore[index] # the test
        one.id for one in found
    ]


def test_last_line_is_the_verdict_with_its_counts() -> None:
    lines = concise([sample(CLEAN)]).splitlines()

    unchecked = len(sample(CLEAN).report.unchecked)
    assert len(lines) == 1 + unchecked
    assert lines[-1] == (
        "cutworthy: good with cone-30-0.1: makeable, 0 errors, 0 warnings, 0 notes, "
        f"{unchecked} not checked"
    )


def test_several_processes_are_told_apart() -> None:
    lines = concise([sample(GAP), sample(GAP, "flat-0.8")]).splitlines()

    assert lines[0].endswith(" cone-30-0.1)")
    assert lines[-2].startswith("bad: not checked: ")
    assert any(line.endswith(" flat-0.8)") for line in lines)


def test_annotations_point_at_the_line_that_draws_the_copper(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(SAMPLES)
    found = sample(GAP).report.findings

    told = commands(github([sample(GAP)]))

    lines = (SAMPLES / GAP / "copper-bottom.gbr").read_text().splitlines()
    assert [(level, properties["file"]) for level, properties, _ in told[:2]] == [
        ("error", f"{GAP}/copper-bottom.gbr")
    ] * 2
    assert [lines[int(properties["line"]) - 1] for _, properties, _ in told[:2]] == [
        "X8730000Y7500000D03*",
        "X11270000Y7500000D03*",
    ]
    assert [properties["title"] for _, properties, _ in told[:2]] == [
        f"uncuttable-gap ({one.id})" for one in found
    ]


def test_a_clean_board_still_has_its_verdict_in_the_log() -> None:
    told = commands(github([sample(CLEAN)]))

    assert {level for level, *_ in told} == {"notice"}
    assert told[-1][1] == {"title": "cutworthy"}
    assert told[-1][2].startswith("good with cone-30-0.1: makeable, 0 errors")


@pytest.mark.parametrize("named", ["made/board.zip", "made"])
def test_a_board_in_an_archive_is_annotated_at_the_archive(
    named: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "made").mkdir()
    with zipfile.ZipFile(tmp_path / "made" / "another.zip", "w") as other:
        other.writestr("read.me", "no board")
    shutil.make_archive(str(tmp_path / "made" / "board"), "zip", SAMPLES / GAP)
    judged = judge(Path(named))

    (_, properties, _), *_ = commands(github([judged]))

    assert properties["file"] == "made/board.zip"
    assert "line" not in properties
    assert concise([judged]).startswith("made/board.zip/copper-bottom.gbr:bottom:9.655,7.500: ")


def test_names_that_try_to_do_harm_stay_in_their_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    board = evil_board(tmp_path)
    judged = judge(board)

    told, lines = commands(github([judged])), concise([judged]).splitlines()

    count = len(judged.report.findings) + len(judged.report.unchecked) + 1
    assert (len(told), len(lines)) == (count, count)
    assert told[0][1]["file"] == f"{board.name}/copper-bottom.gbr"
    assert EVIL in told[0][2]
    assert lines[0].startswith('a "b"\\n::error::\'<i>,%:/copper-bottom.gbr:bottom:9.655')
    assert [line for line in lines if not line.isprintable()] == []


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such names")
def test_a_name_that_is_no_text_is_annotated_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = Path(os.fsdecode(b"\xff" * 20))
    shutil.copytree(SAMPLES / GAP, folder)

    told = commands(github([judge(folder)]))

    assert told[0][1]["file"] == "\\udcff" * 20 + "/copper-bottom.gbr"
