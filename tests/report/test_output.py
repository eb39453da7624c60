from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from checker.errors import UsageError
from checker.options import FORMATS
from checker.report import output
from checker.report.documents import Run, document
from tests.report.judging import sample


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "board").mkdir()
    (tmp_path / "board" / "top.gbr").write_text("G04 copper*\n")
    return tmp_path


def test_new_file_is_written_whole_with_the_usual_rights(folder: Path) -> None:
    target = output.writable(folder / "report.txt", [folder / "board"])

    output.write("words\n", target)

    assert target.read_bytes() == b"words\n"
    assert stat.S_IMODE(target.stat().st_mode) & stat.S_IRUSR
    assert sorted(path.name for path in folder.iterdir()) == ["board", "report.txt"]


def test_failed_write_leaves_the_old_file_and_no_remains(folder: Path) -> None:
    target = folder / "report.txt"
    target.write_text("old\n")

    with pytest.raises(UnicodeEncodeError):
        output.write("new \ud800", target)

    assert target.read_text() == "old\n"
    assert sorted(path.name for path in folder.iterdir()) == ["board", "report.txt"]


def test_rights_of_a_replaced_file_are_kept(folder: Path) -> None:
    target = folder / "report.txt"
    target.write_text("old\n")
    target.chmod(0o640)

    output.write("new\n", target)

    assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_link_is_followed_and_stays_a_link(folder: Path) -> None:
    (folder / "real.txt").write_text("old\n")
    (folder / "link.txt").symlink_to(folder / "real.txt")

    output.write("new\n", output.writable(folder / "link.txt", []))

    assert (folder / "link.txt").is_symlink()
    assert (folder / "real.txt").read_text() == "new\n"


def test_device_is_written_to_and_not_replaced() -> None:
    device = Path(os.devnull)

    output.write("words\n", output.writable(device, []))

    assert not device.is_file()


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("board", "is a folder"),
        ("absent/report.txt", "there is no folder"),
        ("board/top.gbr", "is one of the board's files"),
    ],
)
def test_place_that_cannot_take_the_report_is_refused(folder: Path, name: str, fault: str) -> None:
    with pytest.raises(UsageError, match=fault):
        output.writable(folder / name, [folder / "board"])


def test_file_given_as_input_is_refused_under_any_of_its_names(folder: Path) -> None:
    source = folder / "board" / "top.gbr"
    (folder / "other.gbr").hardlink_to(source)
    (folder / "link.gbr").symlink_to(source)

    for name in (source, folder / "other.gbr", folder / "link.gbr"):
        with pytest.raises(UsageError, match="is one of the files to be read"):
            output.writable(name, [source])


@pytest.mark.parametrize("form", FORMATS)
def test_earlier_report_in_the_board_folder_may_be_replaced(folder: Path, form: str) -> None:
    judged = sample("rules/uncuttable-gap/bad")
    report = folder / "board" / "report"
    output.write(document(Run((judged,), ("error",), 1, 0.1), form, None), report)

    assert output.writable(report, [folder / "board"]) == report.resolve()


def test_board_file_that_only_speaks_of_us_is_no_earlier_report(folder: Path) -> None:
    source = folder / "board" / "top.gbr"
    source.write_text("G04 cutworthy took this\nG04 a line*\nM02*\n" + "G04 x*\n" * 20)

    with pytest.raises(UsageError):
        output.writable(source, [folder / "board"])
