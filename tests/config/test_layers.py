"""Roles of files that a configuration names."""

from pathlib import Path

import pytest

from checker.config import NAME, config_of, layers_of
from checker.errors import ConfigError
from checker.read import read_package
from checker.read.package import open_package
from tests.config.made import board, say

FILES = ("gerber/copper1.gbr", "gerber/edge.gbr", "panel.gbr")


def layers(repo: Path, text: str) -> dict[str, list[str]]:
    say(repo, text)
    return layers_of(config_of([repo]), FILES)


def test_patterns_and_names_that_files_fit(repo: Path) -> None:
    found = layers(
        repo, 'layers: {top: copper1.gbr, inner2: "in*", ignore: ["*panel*", "*.pdf"]}\n'
    )

    assert found == {"top": ["copper1.gbr"], "ignore": ["*panel*"]}


def test_a_file_that_is_not_there_is_an_error(repo: Path) -> None:
    with pytest.raises(ConfigError) as caught:
        layers(repo, "top: true\nlayers: {bottom: copper2.gbr}\n")

    assert str(caught.value) == (
        f"{NAME}:2: layers.bottom: no file copper2.gbr in the board; "
        "did you mean gerber/copper1.gbr?; a pattern may fit nothing, such as *copper2.gbr"
    )


def test_one_name_of_two_files_is_an_error(repo: Path) -> None:
    say(repo, "layers: {top: top.gbr}\n")

    with pytest.raises(ConfigError) as caught:
        layers_of(config_of([repo]), ["a/top.gbr", "b/top.gbr"])

    assert str(caught.value) == (
        f"{NAME}:1: layers.top: several files: a/top.gbr, b/top.gbr; expected one"
    )


def test_what_is_to_be_ignored_need_not_be_there(repo: Path) -> None:
    assert layers(repo, "layers: {ignore: draft.gbr}\n") == {}


def test_a_board_is_read_by_them(repo: Path) -> None:
    board(repo / "door", "one.gbr", "two.gbr")
    say(repo, 'layers: {top: one.gbr, ignore: "two*"}\n')
    package = open_package([repo / "door"])

    names = [file.name for file in package.files]
    read = read_package(package, layers_of(config_of([repo / "door"]), names))

    assert [layer.side for layer in read.copper] == ["top"]
