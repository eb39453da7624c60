"""Copper drawn by two processes is the copper that one draws, whatever becomes of the second."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from msgspec.structs import asdict

from checker.errors import ReadError
from checker.read import drawn, read_package
from checker.read.drawn import draw, drawn_by_both
from checker.read.package import open_package
from tests.examples import quick
from tests.read.made import BOARDS, gerber, needs_boards, pads, source, two_sided, write
from tests.second import each_failure, needs_two

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.board import Board
    from checker.read.drawn import Drawing

SAMPLES = Path(__file__).parents[2] / "samples" / "boards"
COPPER = ("b-F_Cu.gbr", "b-B_Cu.gbr")


def plain(value: Any) -> Any:
    """All that a board holds, so that it compares."""
    if isinstance(value, np.ndarray):
        return (shapely.to_wkb(value) if value.dtype == object else value).tolist()
    if isinstance(value, shapely.Geometry):
        return value.wkb
    if isinstance(value, tuple):
        return [plain(one) for one in value]
    if hasattr(value, "draw"):
        return plain(value.objects)
    if hasattr(value, "__struct_fields__"):
        return {name: plain(one) for name, one in asdict(value).items()}
    return value


def read_by_both(path: Path, drawings: dict[tuple[str, str], Drawing] | None = None) -> Board:
    return read_package(open_package([path]), {}, drawings, meanwhile=lambda: None)


@needs_two
@pytest.mark.parametrize("name", ["coop-door", "orchard-cam", "hive-scale", "tide-logger"])
def test_a_board_is_the_same_whoever_draws_it(name: str) -> None:
    alone = read_package(open_package([SAMPLES / name]))

    assert plain(read_by_both(SAMPLES / name)) == plain(alone)


@needs_two
@needs_boards
@pytest.mark.parametrize(
    "name", quick(["openbci-cyton", "freeduino", "mainboard-diptrace"], ["freeduino"])
)
def test_an_open_board_is_the_same_whoever_draws_it(name: str) -> None:
    alone = read_package(open_package([BOARDS / name]))

    assert plain(read_by_both(BOARDS / name)) == plain(alone)


@needs_two
def test_a_negative_plane_is_the_same_whoever_draws_it(tmp_path: Path) -> None:
    plane = "%TF.FileFunction,Copper,L2,Inr,Plane*%\n%TF.FilePolarity,Negative*%\n"
    folder = write(tmp_path, two_sided() | {"b-In1.gbr": plane + gerber(pads((2, 2)))})
    alone = read_package(open_package([folder]))

    assert plain(read_by_both(folder)) == plain(alone)


@needs_two
def test_the_second_draws_the_largest(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    small, large = gerber(pads((1, 1))), gerber(pads(*((2.0 * k, 1.0) for k in range(50))))
    mine: list[str] = []

    def watched(text: str, name: str) -> Drawing:
        mine.append(name)
        return draw(text, name)

    monkeypatch.setattr(drawn, "draw", watched)

    found = drawn_by_both([source("small", small), source("large", large)], lambda: None)

    assert len(found) == 2
    assert "large" not in mine
    assert len(found["large", large].islands) == 50


def no_more_pipes() -> tuple[int, int]:
    raise OSError(errno.EMFILE, "too many open files")


@needs_two
@each_failure
def test_without_the_second_a_board_is_the_same(
    fork: Callable[[], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = read_package(open_package([SAMPLES / "hive-scale"]))
    monkeypatch.setattr(os, "fork", fork)

    assert plain(read_by_both(SAMPLES / "hive-scale")) == plain(alone)


@needs_two
def test_without_a_pipe_a_board_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    alone = read_package(open_package([SAMPLES / "hive-scale"]))
    monkeypatch.setattr(os, "pipe", no_more_pipes)

    assert plain(read_by_both(SAMPLES / "hive-scale")) == plain(alone)


@needs_two
@pytest.mark.parametrize("broken", [COPPER[:1], COPPER[1:], COPPER])
def test_a_broken_file_is_told_as_by_one_process(broken: tuple[str, ...], tmp_path: Path) -> None:
    files = two_sided()
    ends = {name: files[name].replace("M02*", f"X{len(name)}") for name in broken}
    folder = write(tmp_path, files | ends)
    with pytest.raises(ReadError) as alone:
        read_package(open_package([folder]))

    with pytest.raises(ReadError) as both:
        read_by_both(folder)

    assert str(both.value) == str(alone.value)


@needs_two
def test_a_broken_mask_is_told_as_by_one_process(tmp_path: Path) -> None:
    mask = "%TF.FileFunction,Soldermask,Top*%\n" + gerber(pads((1, 1))).replace("M02*", "X7")
    folder = write(tmp_path, two_sided() | {"b-mask.gbr": mask})
    alone = read_package(open_package([folder]))

    both = read_by_both(folder)

    assert [one.what for one in both.unchecked] == ["mask of b-mask.gbr"]
    assert both.unchecked == alone.unchecked


@needs_two
def test_copper_without_bound_is_told_as_by_one_process(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Neither process goes on drawing once it has drawn as much as a board may have."""
    folder = write(tmp_path, two_sided())
    monkeypatch.setattr(drawn, "MOST_CORNERS", 10)
    monkeypatch.setattr("checker.read.assemble.MOST_CORNERS", 10)
    many = [source(f"{k}", gerber(pads((1, k)))) for k in range(9)]

    with pytest.raises(ReadError, match="layers of copper without bound"):
        read_by_both(folder)
    assert len(drawn_by_both(many, lambda: None)) <= 2


@needs_two
def test_what_is_drawn_already_is_not_drawn_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    folder = write(tmp_path, two_sided())
    drawings: dict[tuple[str, str], Drawing] = {}
    before = read_by_both(folder, drawings)
    monkeypatch.setattr(drawn, "draw", None)

    assert plain(read_by_both(folder, drawings)) == plain(before)
