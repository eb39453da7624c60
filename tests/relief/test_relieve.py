"""``relieve`` on the sample boards and on open boards: what it writes, and what it says."""

from __future__ import annotations

import json
import re
import shutil
from argparse import ArgumentParser
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
import shapely
from msgspec.structs import replace

from checker.commands import relieve
from checker.commands.relieve import DOCUMENT, PAGE
from checker.errors import UsageError
from checker.findings import Verdict
from checker.hands import worth_both
from checker.process import load_profile
from checker.read import read_board, read_package
from checker.read.gerber import shapes
from checker.read.package import open_package
from checker.relief import layer
from checker.relief import make as making
from checker.relief.files import contents_of
from checker.relief.make import Made, ReliefError, make
from checker.relief.model import Options
from checker.report.html.relief import relief_page
from checker.report.relief_document import relief_document
from checker.report.relief_text import relief_text
from checker.report.text import render
from checker.schema.relief import relief_schema
from tests.oracles.other_reader import image
from tests.read.made import BOARDS, needs_boards
from tests.relief.judged import faults
from tests.relief.made import drawn_texts, layout_texts, package_of, relieved, texts_after
from tests.second import needs_two

if TYPE_CHECKING:
    from checker.board import Board

TIDE = Path(__file__).parents[2] / "samples" / "boards" / "tide-logger"


def of_folder(path: Path, profile: str) -> Made:
    package = open_package([path])
    return make(package, contents_of([path], package), {}, load_profile(profile))


def command(*words: str) -> int:
    parser = ArgumentParser()
    relieve.options(parser.add_subparsers(dest="command"))  # type: ignore[arg-type]
    return relieve.run(parser.parse_args(["relieve", *words]))


def hurried() -> Made:
    """A relief that makes the way of the bit longer than there is time for."""
    process = load_profile("cone-20-0.1")
    assert process.feeds.cut is not None
    hours = 4.14 / process.feeds.cut * 1000 / 60  # it is 3.96 m before, 4.32 m after
    package = open_package([TIDE])
    return make(
        package,
        contents_of([TIDE], package),
        {},
        replace(process, feeds=replace(process.feeds, evening=hours)),
    )


def test_a_board_without_holes_is_relieved_as_far_as_it_was_checked(tmp_path: Path) -> None:
    for file in (TIDE.parent / "coop-door").glob("*.gbr"):
        shutil.copy(file, tmp_path)

    made = of_folder(tmp_path, "flat-0.8")

    document = relief_document(made)
    assert document["verdict_after"] == "makeable"
    assert {"what": "holes", "why": "no drill file"} in document["unchecked"]
    jsonschema.validate(document, relief_schema())
    shown = render(relief_text(made, 0.0), None)
    said = " ".join(shown.split())
    assert "not makeable before, makeable after, as far as it was checked All of" in said
    assert "\nNot checked\n   holes, " in shown
    page = relief_page(made)
    assert ", relieved, as far as it was checked</span>" in page
    assert "<h2>Not checked</h2>\n<ul>\n<li>holes, " in page


def test_remarks_on_the_files_cautions_and_waivers_are_told(tmp_path: Path) -> None:
    shutil.copytree(TIDE.parent / "coop-door", tmp_path, dirs_exist_ok=True)
    shutil.make_archive(str(tmp_path / "old"), "zip", TIDE)

    made = of_folder(tmp_path, "cone-30-0.1")

    document, shown = relief_document(made), render(relief_text(made, 0.0, waivers=1), None)
    said = "archive not opened: the folder holds loose board files"
    jsonschema.validate(document, relief_schema())
    assert document["notes"] == [{"file": "old.zip", "line": 0, "text": said}]
    assert f"\nRemarks on the files\n   old.zip: {said}\n" in shown
    assert "\nMind: Milling and drilling" in shown
    assert "\n1 waiver for this board is passed over here: check counts it\n" in shown
    assert f"<li>old.zip: {said}</li>" in relief_page(made)


def test_a_process_without_spread_is_told_to_carry_no_margin(tmp_path: Path) -> None:
    bare = tmp_path / "bare.yaml"
    bare.write_text(
        "method: milling\nbit: {shape: flat, diameter: 0.8 mm, depth: 0.1 mm, runout: 0 mm}\n"
        "foil: 35 um\nbed_error: 0 mm\n"
    )

    made = of_folder(TIDE.parent / "coop-door", str(bare))

    said = "The profile gives no spread: verdicts carry no margin"
    assert f"\n{said}\n" in render(relief_text(made, 0.0), None)
    assert f"<p>{said}.</p>" in relief_page(made)


def test_that_more_gaps_take_longer_to_cut_costs_none_of_them() -> None:
    made = hurried()

    document = relief_document(made)
    assert [one.rule for one in made.remarks] == ["long-cut"]
    assert not made.rounds
    assert faults(made) == []
    assert document["remarks"] == [{"rule": "long-cut", "message": made.remarks[0].seen.message}]
    assert "What comes with it\n   Isolating cuts" in render(relief_text(made, 0.0), None)
    assert f"<dd>{made.remarks[0].seen.message}</dd>" in relief_page(made)
    jsonschema.validate(document, relief_schema())


@pytest.fixture
def board(tmp_path: Path) -> Path:
    folder = tmp_path / "board"
    folder.mkdir()
    for name, text in drawn_texts(0).items():
        (folder / name).write_text(text)
    return folder


@pytest.fixture(scope="module")
def tide() -> Made:
    return of_folder(TIDE, "cone-20-0.1")


def test_a_fine_cone_makes_the_tide_logger_by_relief_alone(tide: Made) -> None:
    assert tide.before.verdict is Verdict.NOT_MAKEABLE
    assert tide.after.verdict is Verdict.MARGINAL


@needs_two
def test_two_processes_relieve_a_board_as_one_does() -> None:
    texts = layout_texts("ordinary", 2)
    package, process = package_of(texts), load_profile("cone-20-0.1")
    contents = {name: text.encode() for name, text in texts.items()}

    alone, together = (make(package, contents, {}, process, both=both) for both in (False, True))

    assert worth_both(alone.board)
    assert {channel.layer for channel in alone.relief.channels} == {0, 1}
    assert together.files == alone.files
    assert relief_document(together) == relief_document(alone)
    assert together.after.findings == alone.after.findings


def test_a_coarse_mill_makes_the_coop_door_once_relieved() -> None:
    made = of_folder(TIDE.with_name("coop-door"), "flat-0.8")

    assert made.before.verdict is Verdict.NOT_MAKEABLE
    assert made.after.verdict is Verdict.MAKEABLE
    assert faults(made) == []


def test_the_tide_logger_loses_nothing(tide: Made) -> None:
    assert faults(tide) == []


def test_what_was_proved_is_what_reading_every_file_anew_finds() -> None:
    texts = {**layout_texts("ordinary", 3), **drawn_texts(0)}  # whose bottom stays as it is
    options = Options(only_pours=True)
    made = relieved(texts, options=options)

    board = read_package(package_of(texts_after(texts, made)), {})

    assert set(made.files) < {la.source for la in board.copper}
    assert [shapely.to_wkb(la.islands).tolist() for la in board.copper] == [
        shapely.to_wkb(la.islands).tolist() for la in made.board.copper
    ]
    assert [la.net_name for la in board.copper] == [la.net_name for la in made.board.copper]


def test_another_reader_finds_the_copper_that_is_left(tide: Made) -> None:
    areas = {la.source: float(shapely.area(la.islands).sum()) for la in tide.board.copper}

    others = {name: image(content.decode()).area for name, content in tide.files.items()}

    assert others == {name: pytest.approx(areas[name], rel=1e-4) for name in tide.files}


def test_the_page_counts_the_places_that_it_does_not_draw(tide: Made) -> None:
    parts = [part for part in relief_page(tide).split("<h2>") if part.startswith("Between ")]

    drawn = [part.count("<figure>") for part in parts]
    opened = [int(re.findall(r": (\d+) of \d+ opened</h2>", part)[0]) for part in parts]
    assert max(opened) > max(drawn)
    for part, shown, number in zip(parts, drawn, opened, strict=True):
        said = re.findall(r"<p>And (\d+) more opened", part)
        assert said == [str(number - shown)] * (number > shown)


def test_pours_alone_give_where_only_pours_may() -> None:
    made = relieved(drawn_texts(1), options=Options(only_pours=True))

    assert {one.kind for place in made.relief.opened for one in place.taken} <= {"pour"}


def test_no_more_is_taken_than_allowed() -> None:
    made = relieved(drawn_texts(0), options=Options(most_taken=0.06))

    assert [one for place in made.relief.opened for one in place.taken if one.most > 0.0601] == []


def test_every_file_is_there_and_those_not_relieved_are_as_they_were(
    board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"

    command(str(board), "-p", "cone-20-0.1", "-o", str(out), "--no-config")

    changed = json.loads((out / DOCUMENT).read_text())["files"]
    same = [path for path in board.iterdir() if path.name not in changed]
    assert {path.name for path in out.iterdir()} == {
        *(path.name for path in board.iterdir()), DOCUMENT, PAGE,
    }  # fmt: skip
    assert all((out / path.name).read_bytes() == path.read_bytes() for path in same)
    assert read_board([out]).sides == read_board([board]).sides
    assert "opened" in capsys.readouterr().out


def test_the_document_keeps_to_its_schema(board: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command(str(board), "-p", "cone-20-0.1", "--dry-run", "--format", "json", "--no-config")

    jsonschema.validate(json.loads(capsys.readouterr().out), relief_schema())


def test_a_dry_run_writes_nothing(board: Path) -> None:
    before = sorted(board.parent.rglob("*"))

    command(str(board), "-p", "cone-20-0.1", "--dry-run", "--no-config")

    assert sorted(board.parent.rglob("*")) == before


def test_a_dry_run_does_not_say_that_files_are_changed(
    capsys: pytest.CaptureFixture[str],
) -> None:
    command(str(TIDE.parent / "coop-door"), "-p", "flat-0.8", "--dry-run", "--no-config")

    said = capsys.readouterr().out
    assert "\nWould change: copper-bottom.gbr; a dry run writes nothing\n" in said
    assert "\nChanged: " not in said


def test_a_folder_with_files_is_left_alone(board: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")

    with pytest.raises(UsageError, match="is not empty"):
        command(str(board), "-o", str(tmp_path / "out"), "--no-config")


@pytest.mark.parametrize("place", [".", "relieved"])
def test_nothing_is_written_among_the_board_s_own_files(board: Path, place: str) -> None:
    with pytest.raises(UsageError, match="board's"):
        command(str(board), "-o", str(board / place), "--force", "--no-config")


@needs_boards
@pytest.mark.long
@pytest.mark.parametrize("profile", ["cone-20-0.1", "flat-0.4"])
@pytest.mark.parametrize(
    "name", ["ds3231-breakout", "freevse", "librepcb-test", "pwm555", "usbtinyisp-ss"]
)
def test_open_boards_lose_nothing(name: str, profile: str) -> None:
    made = of_folder(BOARDS / name, profile)

    assert faults(made) == []


def test_what_relief_makes_too_much_for_the_reader_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The board was read; the longer file is not, and that is no fault of the file as it was."""
    package = open_package([TIDE])

    def crowded(*given: Any) -> Board:
        board = read_package(*given)
        monkeypatch.setattr(shapes, "MOST_POINTS", 1)
        return board

    monkeypatch.setattr(making, "read_package", crowded)

    with pytest.raises(ReliefError, match="with relief it can't be read again"):
        make(package, contents_of([TIDE], package), {}, load_profile("cone-20-0.1"))


@pytest.mark.parametrize("seed", [5, 80])
def test_no_way_is_left_untried(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each round spares what the one before would have harmed: more of them find no more."""
    usual = relieved(drawn_texts(seed), "flat-0.4")

    monkeypatch.setattr(layer, "_ROUNDS", 2 * layer._ROUNDS)
    patient = relieved(drawn_texts(seed), "flat-0.4")

    assert len(patient.relief.opened) == len(usual.relief.opened) > 0
