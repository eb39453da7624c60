"""Which configuration files are in force for a board."""

import subprocess
import sys
from pathlib import Path

import pytest

from checker.config import NAME, Config, config_of
from checker.errors import ConfigError
from tests.config.made import archive, board, say

LIGHT = """\
import sys
from pathlib import Path
import checker.config
loaded = set(sys.modules)
checker.config.config_of([Path("door")])
assert set(sys.modules) == loaded, set(sys.modules) - loaded
assert not loaded & {"numpy", "shapely", "rich", "yaml", "checker.process"}
"""


def test_the_nearer_file_is_laid_over_the_farther(repo: Path) -> None:
    far = say(repo, "severity: {tight-gap: note, loose-strip: note}\nprofiles: [flat-0.4]\n")
    near = say(board(repo / "hardware/door"), "severity: {tight-gap: error}\n")

    config = config_of([Path("hardware/door")])

    assert config.files == (near, far)
    assert config.profiles == ("flat-0.4",)
    assert config.places == {
        "severity.tight-gap": f"hardware/door/{NAME}:1",
        "severity.loose-strip": f"{NAME}:1",
        "profiles": f"{NAME}:2",
    }
    assert config.over["severity.tight-gap"].value == "error"


def test_nothing_is_configured_where_no_file_says_anything(repo: Path) -> None:
    assert config_of([board(repo / "door")]) == Config()


def test_files_above_the_repository_do_not_count(repo: Path) -> None:
    say(repo.parent, "profiles: [flat-0.4]\n")

    assert config_of([board(repo / "door")]) == Config()


def test_a_second_working_tree_is_a_repository_too(repo: Path) -> None:
    say(repo, "profiles: [flat-0.4]\n")
    (board(repo / "tree") / ".git").write_text("gitdir: elsewhere\n")

    assert config_of([repo / "tree"]) == Config()


def test_without_a_repository_files_count_up_to_the_root(repo: Path) -> None:
    (repo / ".git").rmdir()
    far = say(repo.parent, "profiles: [flat-0.4]\ntop: true\n")

    assert config_of([board(repo / "door")]).files == (far,)


def test_nothing_above_the_top_counts(repo: Path) -> None:
    say(repo, "profiles: [flat-0.4]\n")
    near = say(repo / "hardware", "top: true\n")

    config = config_of([board(repo / "hardware/door")])

    assert (config.files, config.profiles) == ((near,), ())


def test_a_file_that_is_not_the_top_stops_nothing(repo: Path) -> None:
    say(repo, "profiles: [flat-0.4]\n")
    say(repo / "hardware", "top: false\n")

    assert config_of([board(repo / "hardware/door")]).profiles == ("flat-0.4",)


def test_an_archive_has_the_files_of_the_folder_that_holds_it(repo: Path) -> None:
    path = say(repo / "old", "profiles: [flat-0.4]\n")

    assert config_of([archive(repo / "old/scale.zip")]).files == (path,)


def test_loose_files_have_those_of_the_folder_that_holds_them_all(repo: Path) -> None:
    path = say(repo / "door", "profiles: [flat-0.4]\n")
    say(repo / "door/copper", "profiles: [flat-0.8]\n")
    board(repo / "door", "copper/top.gbr", "holes.gbr")

    config = config_of([Path("door/copper/top.gbr"), Path("door/holes.gbr")])

    assert config.files == (path,)


def test_a_linked_board_has_the_files_of_where_it_lies(repo: Path) -> None:
    path = say(repo / "hardware", "profiles: [flat-0.4]\n")
    board(repo / "hardware/door")
    (repo / "link").symlink_to("hardware/door")

    assert config_of([Path("link")]).files == (path,)


def test_a_board_in_a_loop_of_links_has_the_files_of_its_folder(repo: Path) -> None:
    path = say(repo, "profiles: [flat-0.4]\n")
    (repo / "a").symlink_to("b")
    (repo / "b").symlink_to("a")

    assert config_of([Path("a")]).files == (path,)


def test_a_board_that_is_not_there_has_them_too(repo: Path) -> None:
    path = say(repo, "profiles: [flat-0.4]\n")

    assert config_of([Path("hardware/dor")]).files == (path,)


def test_a_file_outside_the_working_folder_is_told_with_its_last_folder(
    repo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    say(repo, "profiles: [flat-0.4]\n")
    monkeypatch.chdir(board(repo / "hardware/door"))

    assert config_of([Path()]).places == {"profiles": f"repo/{NAME}:1"}


def test_paths_start_from_the_folder_of_their_file(
    repo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (repo / "bits").mkdir()
    (repo / "bits/mine.yaml").write_text("based_on: cone-30-0.1\n")
    say(repo / "hardware", "profiles: [../bits/mine.yaml]\nstock: {bits: ../bits/mine.yaml}\n")
    monkeypatch.chdir(board(repo / "hardware/door"))

    config = config_of([Path()])

    assert [repo / "bits/mine.yaml"] == [Path(name).resolve() for name in config.profiles]
    assert config.profiles == config.bits
    assert not Path(config.profiles[0]).is_absolute()


def test_a_folder_that_may_not_be_seen_is_an_error(
    repo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr("checker.config.above.os.lstat", refuse)

    with pytest.raises(ConfigError) as caught:
        config_of([repo])

    assert str(caught.value) == (
        f"{NAME}: cannot be seen: Permission denied; put a {NAME} that says top: true below it"
    )


def test_a_board_without_configuration_loads_nothing_for_it(repo: Path) -> None:
    board(repo / "door")

    done = subprocess.run([sys.executable, "-c", LIGHT], capture_output=True, text=True)

    assert (done.returncode, done.stderr) == (0, "")
