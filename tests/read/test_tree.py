from __future__ import annotations

import tempfile
from pathlib import Path
from unittest.mock import Mock

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.errors import UsageError
from checker.read import package, tree
from checker.read.boards import boards_of
from checker.read.package import MAX_DEPTH, open_package
from checker.read.tree import boards_below
from tests.read.made import BOARDS, drill, gerber, needs_boards, pack, pads, two_sided, write

SAMPLES = Path(__file__).parents[2] / "samples"
COPPER = ("b-F_Cu.gbr", "b-B_Cu.gbr")
OPEN_BOARDS = sorted(path for path in BOARDS.glob("*") if path.is_dir())


def lay(folder: Path, how: str) -> None:
    """Write a board of two sides below a folder."""
    files = two_sided()
    if how == "packed":
        folder.mkdir(parents=True)
        pack(folder / "board.zip", files)
    elif how == "loose":
        write(folder, files)
    elif how == "by kind":
        write(folder, {f"{name[-3:]}/{name}": text for name, text in files.items()})
    else:
        write(folder, {f"{number}/{name}": files[name] for number, name in enumerate(files)})


def holds(board: Path, folder: Path) -> bool:
    return board in (folder, *folder.parents)


folders = st.lists(
    st.tuples(
        st.lists(st.sampled_from("abc"), min_size=1, max_size=3).map(tuple),
        st.sampled_from(["packed", "loose", "by kind", "one by one"]),
    ),
    min_size=2,
    max_size=5,
    unique_by=lambda item: item[0],
).filter(  # no board lies in the folder of another, which would make one board of both
    lambda items: not any(a != b and b[: len(a)] == a for a, _ in items for b, _ in items)
)


@given(folders)
def test_boards_are_as_many_as_were_laid_however_they_nest(
    laid: list[tuple[tuple[str, ...], str]],
) -> None:
    with tempfile.TemporaryDirectory() as place:
        root = Path(place)
        for parts, how in laid:
            lay(root.joinpath(*parts), how)

        boards = boards_below(root)

        places = [root.joinpath(*parts) for parts, _ in laid]
        assert [sum(holds(board, place) for board in boards) for place in places] == [1] * len(laid)
        assert len(boards) == len(laid)
        assert boards == sorted(boards)


@pytest.mark.parametrize("how", ["packed", "loose", "by kind", "one by one"])
@pytest.mark.parametrize("below", ["", "a", "a/b/c"])
def test_one_board_is_the_folder_that_was_named(tmp_path: Path, how: str, below: str) -> None:
    lay(tmp_path / "tree" / below, how)

    assert boards_below(tmp_path / "tree") == [tmp_path / "tree"]


def test_drill_files_beside_gerber_files_stay_with_their_board(tmp_path: Path) -> None:
    lay(tmp_path / "x" / "one", "by kind")
    lay(tmp_path / "x" / "two", "by kind")

    boards = boards_below(tmp_path)

    assert boards == [tmp_path / "x" / "one", tmp_path / "x" / "two"]
    assert {file.name for file in open_package(boards[:1]).files} == {
        *("gbr/b-F_Cu.gbr", "gbr/b-B_Cu.gbr", "gbr/b-Edge.gbr"),
        "drl/b.drl",
    }


def test_loose_board_files_make_a_folder_one_board_and_nothing_below_is_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for below in ("", "old", "older"):
        lay(tmp_path / below, "loose")
    peek = Mock(wraps=package.peek)
    monkeypatch.setattr(tree, "peek", peek)

    boards = boards_below(tmp_path)

    assert boards == [tmp_path]
    assert {call.args[0].parent for call in peek.call_args_list} == {tmp_path}


def test_several_archives_are_a_board_each(tmp_path: Path) -> None:
    names = ("a.zip", "b.zip", "deep/c.zip")
    (tmp_path / "deep").mkdir()
    for name in names:
        pack(tmp_path / name, two_sided())
    pack(tmp_path / "models.zip", {"readme.txt": "words"})

    boards = boards_below(tmp_path)

    assert boards == [tmp_path / "a.zip", tmp_path / "b.zip", tmp_path / "deep"]


def test_archives_of_one_side_each_cannot_be_read_as_one_board(tmp_path: Path) -> None:
    for name in COPPER:
        pack(tmp_path / f"{name}.zip", {name: two_sided()[name]})

    assert len(boards_below(tmp_path)) == 2


@pytest.mark.parametrize("how", ["by kind", "one by one"])
def test_archive_beside_the_files_of_one_board_is_left_alone(tmp_path: Path, how: str) -> None:
    lay(tmp_path / "unpacked", how)
    pack(tmp_path / "packed.zip", two_sided())

    assert boards_below(tmp_path) == [tmp_path]


def test_archive_beside_several_boards_is_one_of_them(tmp_path: Path) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path / "b", "loose")
    pack(tmp_path / "c.zip", two_sided())

    assert boards_below(tmp_path) == [tmp_path / "a", tmp_path / "b", tmp_path / "c.zip"]


def test_archive_elsewhere_takes_no_file_from_the_board_beside_it(tmp_path: Path) -> None:
    lay(tmp_path, "one by one")
    lay(tmp_path / "older", "packed")

    boards = boards_below(tmp_path)

    assert boards == [tmp_path, tmp_path / "older" / "board.zip"]
    assert len([file for file in open_package(boards[:1]).files if file.format]) == len(two_sided())


@pytest.mark.parametrize(
    "text", ["PK no archive", "PK\x05\x06 nor this"], ids=["no archive", "half an archive"]
)
def test_what_cannot_be_opened_in_a_tree_is_named_like_a_board(tmp_path: Path, text: str) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path / "b", "loose")
    write(tmp_path, {"c.zip": text})

    assert boards_below(tmp_path) == [tmp_path / "a", tmp_path / "b", tmp_path / "c.zip"]


def test_files_without_a_known_layer_in_a_tree_are_named_like_a_board(tmp_path: Path) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path / "b", "loose")
    write(tmp_path / "c", {"one.gbr": gerber(pads((1, 1)))})
    pack(tmp_path / "d.zip", {"one.gbr": gerber(pads((1, 1)))})

    assert boards_below(tmp_path) == [tmp_path / name for name in ("a", "b", "c", "d.zip")]


@pytest.mark.parametrize("name", ["b.drl", "b-Edge.gbr"])
def test_file_that_could_be_of_any_board_is_refused(tmp_path: Path, name: str) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path / "b", "loose")
    write(tmp_path / "common", {name: two_sided()[name]})

    with pytest.raises(UsageError, match=rf"{name}: could be of any of the boards"):
        boards_below(tmp_path)


def test_paste_and_drawings_between_boards_are_passed_over(tmp_path: Path) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path / "b", "loose")
    write(tmp_path / "stencil", {"paste.gbr": gerber(pads((1, 1)), function="Paste,Top")})
    write(tmp_path, {"draw.py": f'"""Draws."""\nHEAD = """{gerber()}"""\n'})

    assert boards_below(tmp_path) == [tmp_path / "a", tmp_path / "b"]


def test_folder_with_two_top_layers_is_one_board_of_a_tree(tmp_path: Path) -> None:
    twice = {f"{name}.gbr": gerber(pads((1, 1)), function="Copper,L1,Top") for name in "xy"}
    write(tmp_path / "a", twice | {"y.gbr": gerber(pads((2, 2)), function="Copper,L1,Top")})
    lay(tmp_path / "b", "loose")

    assert boards_below(tmp_path) == [tmp_path / "a", tmp_path / "b"]


def test_hidden_folders_and_links_are_no_boards(tmp_path: Path) -> None:
    lay(tmp_path / "a" / "x", "loose")
    lay(tmp_path / "a" / ".old", "loose")
    lay(tmp_path / "elsewhere", "loose")
    (tmp_path / "a" / "link").symlink_to(tmp_path / "elsewhere")
    (tmp_path / "a" / "loop").symlink_to(tmp_path)

    assert boards_below(tmp_path / "a") == [tmp_path / "a"]


def test_folders_are_looked_into_as_deep_as_a_reader_does(tmp_path: Path) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path.joinpath(*"x" * MAX_DEPTH), "loose")
    lay(tmp_path.joinpath(*"y" * (MAX_DEPTH + 1)), "loose")

    assert boards_below(tmp_path) == [tmp_path / "a", tmp_path / "x"]


def test_more_files_than_a_reader_looks_at_are_left_to_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay(tmp_path / "a", "loose")
    lay(tmp_path / "b", "loose")
    monkeypatch.setattr(tree, "MAX_ENTRIES", 7)

    assert boards_below(tmp_path) == [tmp_path]


def test_samples_of_this_repository_are_a_board_for_each_of_their_folders() -> None:
    boards = boards_below(SAMPLES)

    assert boards == sorted([*SAMPLES.glob("boards/*"), *SAMPLES.glob("rules/*/[bg]*d")])


@pytest.mark.usefixtures("in_place")
def test_tree_is_expanded_among_other_boards_and_each_board_is_named_once(tmp_path: Path) -> None:
    for name in ("tree/a", "tree/b", "c"):
        lay(tmp_path / name, "loose")

    boards = boards_of(["c", "tree", "tree/b"])

    assert boards == [(Path("c"),), (Path("tree/a"),), (Path("tree/b"),)]


@pytest.fixture
def in_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@needs_boards
@pytest.mark.parametrize("board", OPEN_BOARDS, ids=lambda path: path.name)
def test_open_board_is_one_board(board: Path) -> None:
    assert boards_below(board) == [board]


@needs_boards
def test_folder_of_open_boards_is_all_of_them() -> None:
    assert boards_below(BOARDS) == OPEN_BOARDS


def test_drill_files_alone_are_no_tree(tmp_path: Path) -> None:
    write(tmp_path, {"a/x.drl": drill("X1.0Y1.0"), "b/y.drl": drill("X1.0Y1.0")})

    assert boards_below(tmp_path) == [tmp_path]
