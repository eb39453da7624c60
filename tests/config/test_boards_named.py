"""The boards that a configuration names."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.config import NAME, boards_named, config_of
from checker.config.patterns import check_pattern, fits
from checker.errors import ConfigError
from tests.config.made import archive, board, say


@pytest.fixture
def workshop(repo: Path) -> Path:
    """Four boards, and much that is none."""
    board(repo / "hardware/door")
    board(repo / "hardware/lamp", "gerber/top.gbr")
    archive(repo / "hardware/scale.zip")
    board(repo / "old/deep/bell")
    board(repo / ".hidden/board")
    board(repo / "hardware/node_modules")
    (repo / "hardware/docs").mkdir()
    (repo / "hardware/docs/plan.md").write_text("# Plan\n")
    archive(repo / "hardware/photos.zip", "a photo", "photo.txt")
    (repo / "hardware/link").symlink_to("door")
    (repo / "hardware/round").symlink_to("../hardware")
    return repo


def named(repo: Path, *patterns: str) -> list[str]:
    say(repo, f"boards: {list(patterns)}\n")
    return [path.as_posix() for path in boards_named(Path())]


@pytest.mark.parametrize(
    ("pattern", "found"),
    [
        ("hardware/*", ["hardware/door", "hardware/lamp", "hardware/scale.zip"]),
        ("./hardware//*/", ["hardware/door", "hardware/lamp", "hardware/scale.zip"]),
        ("hardware/*.zip", ["hardware/scale.zip"]),
        ("hardware/?oor", ["hardware/door"]),
        ("hardware/door", ["hardware/door"]),
        ("**/bell", ["old/deep/bell"]),
        ("old/**/**/b*", ["old/deep/bell"]),
        ("hardware", ["hardware/door", "hardware/lamp", "hardware/scale.zip"]),
        ("hardware/**", ["hardware/door", "hardware/lamp", "hardware/scale.zip"]),
        ("hardware/**/*", ["hardware/door", "hardware/lamp", "hardware/scale.zip"]),
    ],
)
def test_a_pattern_means_what_holds_a_board(workshop: Path, pattern: str, found: list[str]) -> None:
    boards = named(workshop, pattern)

    assert boards == found


def test_the_folder_of_the_file_may_be_the_board(repo: Path) -> None:
    board(repo)

    assert named(repo, ".") == ["."]


def test_several_patterns_name_each_board_once_in_order(workshop: Path) -> None:
    found = named(workshop, "old/deep/*", "hardware/*.zip", "hardware/*")

    assert found == ["hardware/door", "hardware/lamp", "hardware/scale.zip", "old/deep/bell"]


def test_a_board_in_another_one_is_part_of_it(workshop: Path) -> None:
    assert named(workshop, "hardware/lamp/gerber", "hardware/lamp") == ["hardware/lamp"]


def test_boards_beside_the_working_folder_are_no_part_of_it(
    repo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    board(repo / "bell")
    board(repo / "lamp")
    monkeypatch.chdir(board(repo / "door"))
    say(repo, 'boards: "*"\n')

    assert boards_named(Path()) == [Path("../bell"), Path(), Path("../lamp")]


def test_brackets_stand_for_themselves(repo: Path) -> None:
    board(repo / "b[12]")
    board(repo / "b1")

    assert named(repo, "b[12]") == ["b[12]"]


def test_an_archive_that_is_damaged_is_not_passed_over(repo: Path) -> None:
    (repo / "a.zip").write_bytes(b"PK\3\4 and then nothing")

    assert named(repo, "*.zip") == ["a.zip"]


def test_a_packed_board_in_a_folder_makes_it_one(repo: Path) -> None:
    archive(repo / "door/door.zip")

    assert named(repo, "*") == ["door"]


def test_the_boards_are_those_of_the_nearest_list(
    repo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    board(repo / "hardware/door")
    say(repo, "boards: hardware/door\n")
    say(repo / "hardware", "profiles: flat-0.4\n")
    monkeypatch.chdir(repo / "hardware")

    assert boards_named(Path()) == [Path("door")]
    assert boards_named(Path("door")) == [Path("door")]


@pytest.mark.parametrize("pattern", ["hardware/bell", "hardware/docs", "*.md", "hardware/link"])
def test_a_pattern_that_means_no_board_is_an_error(workshop: Path, pattern: str) -> None:
    with pytest.raises(ConfigError) as caught:
        named(workshop, pattern)

    assert str(caught.value).startswith(f"{NAME}:1: boards: {pattern} means no board")


def test_one_of_several_that_means_none_is_an_error_at_its_line(workshop: Path) -> None:
    say(workshop, "boards:\n  - hardware/*\n  - hardwear/*\n")

    with pytest.raises(ConfigError, match=f"^{NAME}:3: boards: hardwear"):
        boards_named(Path())


def test_without_any_file_there_is_advice(repo: Path) -> None:
    with pytest.raises(ConfigError) as caught:
        boards_named(repo)

    assert str(caught.value) == (
        f"{NAME}: no such file in this folder or above it; "
        'name a board, or list them there: boards: ["hardware/*"]'
    )


def test_a_file_that_lists_none_is_named(repo: Path) -> None:
    say(repo, "profiles: flat-0.4\n")

    with pytest.raises(ConfigError, match=f"^{NAME}: lists no boards; name a board"):
        boards_named(repo)


@pytest.mark.parametrize(
    ("pattern", "told"),
    [
        ("../door", "leads out of the folder"),
        ("a/../../door", "leads out of the folder"),
        ("a/..", "leads out of the folder"),
        ("/etc", "does not start from the folder"),
        ("//host/share", "does not start from the folder"),
        ("~/door", "does not start from the folder"),
        ("C:/door", "does not start from the folder"),
        ("c:door", "does not start from the folder"),
        ("a\\door", "a backslash"),
        ("\\\\host\\share", "a backslash"),
        (".hidden/door", "leads into a hidden folder"),
        ("a/.git/b", "leads into a hidden folder"),
        ("a**", "** beside other letters"),
    ],
)
def test_a_pattern_that_leads_out_is_an_error(repo: Path, pattern: str, told: str) -> None:
    with pytest.raises(ConfigError) as caught:
        named(repo, pattern)

    assert str(caught.value).startswith(f"{NAME}:1: boards: ")
    assert told in str(caught.value)


def test_links_that_lead_out_are_not_followed(repo: Path) -> None:
    board(repo.parent / "outside/door")
    (repo / "out").symlink_to("../outside")
    board(repo / "in/door")

    assert named(repo, "*/door") == ["in/door"]


def test_too_many_boards_are_refused(repo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("checker.config.patterns.MOST_BOARDS", 2)
    board(repo, "a/top.gbr", "b/top.gbr", "c/top.gbr")

    with pytest.raises(ConfigError, match="means more than 2 boards; name a folder further in"):
        named(repo, "*")


def test_a_walk_without_end_is_refused(repo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("checker.config.patterns.MOST_ENTRIES", 20)
    board(repo, *(f"door/{i}.gbr" for i in range(9)), *(f"x/{i}.md" for i in range(30)))

    with pytest.raises(ConfigError, match="leads to more than 20 files and folders"):
        named(repo, "**/door")


def test_folders_without_end_are_refused(repo: Path) -> None:
    board(repo / "/".join("abcdefghijklmno"))

    with pytest.raises(ConfigError, match="leads more than 12 folders deep"):
        named(repo, "**/z")


def test_many_stars_take_no_longer_than_one(repo: Path) -> None:
    board(repo / ("a" * 200))

    with pytest.raises(ConfigError, match="means no board"):
        named(repo, "*a" * 60 + "b")


@pytest.mark.parametrize(
    ("pattern", "board_path", "fit"),
    [
        ("hardware/*", "hardware/door", True),
        ("hardware/*", "hardware/door/gerber", False),
        ("hardware/**", "hardware/door/gerber", True),
        ("hardware/**", "hardware", True),
        ("**/door", "door", True),
        ("**/door", "a/b/door", True),
        ("**/door", "a/b/doors", False),
        ("a/**/d", "a/d", True),
        ("a/**/d", "a/b/c/d", True),
        ("a/**/d", "b/d", False),
        (".", ".", True),
        (".", "door", False),
    ],
)
def test_a_pattern_of_a_waiver_fits_boards(pattern: str, board_path: str, fit: bool) -> None:
    assert fits(pattern, Path("/repo"), Path("/repo", board_path)) is fit


def test_a_board_outside_fits_no_pattern() -> None:
    assert not fits("**", Path("/repo"), Path("/other"))


NAMES = st.sampled_from(["a", "b", "ab"])
PARTS = st.sampled_from(["a", "b", "ab", "*", "?", "a*", "**"])


@given(st.lists(PARTS, max_size=4), st.lists(NAMES, max_size=5))
def test_a_pattern_fits_where_a_plain_reading_of_it_does(
    parts: list[str], names: list[str]
) -> None:
    pattern = check_pattern("/".join(parts) or ".", "here")

    assert fits(pattern, Path("/r"), Path("/r", *names)) == plainly(parts, names)


def plainly(parts: list[str], names: list[str]) -> bool:
    """Each part takes a name, ``**`` any number of them."""
    if not parts:
        return not names
    if parts[0] == "**":
        return any(plainly(parts[1:], names[i:]) for i in range(len(names) + 1))
    return bool(names) and Path(names[0]).match(parts[0]) and plainly(parts[1:], names[1:])


def test_an_archive_meant_by_a_waiver_is_known_by_its_name(repo: Path) -> None:
    path = archive(repo / "old/scale.zip")
    say(repo, "waivers: {rule: tight-gap, reason: a, board: old/*.zip}\n")

    assert len(config_of([path]).waivers) == 1
