"""The board note: found by its name or named by the user, read safely, checked against the nets."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from checker.board import Board
from checker.errors import ReadError
from checker.process.nodes import LARGEST
from checker.read import read_board

COPPER = (
    "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Copper,L1,Top*%\n%ADD10C,2*%\nD10*\n"
    "%TO.N,LIVE*%\nX0Y0D03*\n%TO.N,GND*%\nX9000000Y0D03*\nM02*\n"
)
NOTE = "# the maker's word\nnets:\n  LIVE: {voltage: 230 V ac, cleared: 5 mm}\n  GND: 0 V\n"


def board(folder: Path, note: str, name: str = "board-note.yaml", copper: str = COPPER) -> Board:
    (folder / "top.gbr").write_text(copper, encoding="utf-8")
    (folder / name).write_text(note, encoding="utf-8")
    return read_board([folder])


def fault(folder: Path, note: str, copper: str = COPPER) -> str:
    with pytest.raises(ReadError) as caught:
        board(folder, note, copper=copper)
    return str(caught.value)


def test_a_note_beside_the_layers_rates_the_nets(tmp_path: Path) -> None:
    found = board(tmp_path, NOTE)

    assert {net: one.volts for net, one in found.ratings.items()} == {
        "LIVE": pytest.approx(325.27, abs=0.01),
        "GND": 0.0,
    }
    assert found.ratings["LIVE"].cleared == 5.0
    assert found.ratings["LIVE"].where == "board-note.yaml:3"
    assert ("board-note.yaml", "note") in found.sources
    assert found.notes == ()


def test_a_board_without_a_note_has_no_ratings(tmp_path: Path) -> None:
    (tmp_path / "top.gbr").write_text(COPPER, encoding="utf-8")

    assert read_board([tmp_path]).ratings == {}


def test_a_note_of_nothing_is_refused(tmp_path: Path) -> None:
    assert fault(tmp_path, "{}").startswith("board-note.yaml: names no net; expected nets:")


def test_a_note_in_an_archive_is_read(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        archive.writestr("gerber/top.gbr", COPPER)
        archive.writestr("gerber/board-note.yaml", NOTE)

    assert set(read_board([tmp_path / "b.zip"]).ratings) == {"LIVE", "GND"}


def test_a_note_of_another_name_has_to_be_named(tmp_path: Path) -> None:
    unnamed = board(tmp_path, NOTE, "volts.yaml")

    named = read_board([tmp_path], {"note": "volts.yaml"})

    assert unnamed.ratings == {}
    assert [note.source for note in unnamed.notes] == ["volts.yaml"]
    assert "--layer note=FILE" in unnamed.notes[0].text
    assert set(named.ratings) == {"LIVE", "GND"}
    assert named.notes == ()


def test_other_yaml_in_the_folder_is_left_alone(tmp_path: Path) -> None:
    found = board(tmp_path, "jobs:\n  nets: 3\n", "pipeline.yaml")

    assert (found.ratings, found.notes) == ({}, ())


def test_of_two_notes_one_counts(tmp_path: Path) -> None:
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "board-note.yaml").write_text("nets: {LIVE: 5 V}\n", encoding="utf-8")

    found = board(tmp_path, NOTE)

    assert found.ratings["LIVE"].cleared == 5.0
    assert [(note.source, note.text) for note in found.notes] == [
        ("old/board-note.yaml", "a second board note; not used")
    ]


@pytest.mark.parametrize(
    ("note", "told"),
    [
        ("nets:\n  LIFE: 5 V\n", "board-note.yaml:2: nets.LIFE: is no net of the board; "
         "did you mean LIVE?"),
        ("nets:\n  MOTOR: 5 V\n", "board-note.yaml:2: nets.MOTOR: is no net of the board; "
         "known here: GND, LIVE"),
        ("nets:\n\n  LIVE: 5 W\n", "board-note.yaml:3: nets.LIVE: 'W' is not a unit known here; "
         "expected V, mV, kV"),
        ("net:\n  LIVE: 5 V\n", "board-note.yaml:1: net: unknown key; "
         "expected nets: {LIVE: 230 V ac}"),
        ("nets:\n", "board-note.yaml:1: nets: names no net; expected nets: {LIVE: 230 V ac}"),
        ("- nets\n", "board-note.yaml:1: a list; "
         "expected keys and values, such as nets: {LIVE: 230 V ac}"),
        ("# nothing\n", "board-note.yaml: is empty; "
         "expected keys and values, such as nets: {LIVE: 230 V ac}"),
        ("nets: {A: &a 5 V, B: *a}\n", "board-note.yaml:1: an anchor (&) or alias (*); "
         "expected plain values; put such text in quotes"),
        ("nets:\n  LIVE: 5 V\n  LIVE: 6 V\n", "board-note.yaml:3: LIVE is given a second time; "
         "it stands in line 2 already"),
        ("nets: {}\n" + "#" * LARGEST, "board-note.yaml: is longer than 64 KiB; "
         "expected a board note"),
    ],
)  # fmt: skip
def test_a_note_that_cannot_be_meant_is_refused(tmp_path: Path, note: str, told: str) -> None:
    assert fault(tmp_path, note) == told


def test_a_board_whose_nets_have_no_names_cannot_be_rated(tmp_path: Path) -> None:
    nameless = "".join(line for line in COPPER.splitlines(True) if not line.startswith("%TO"))

    assert fault(tmp_path, NOTE, nameless) == (
        "board-note.yaml:3: nets.LIVE: is no net of the board; "
        "its files name no nets: add a netlist, or layers that name them"
    )
