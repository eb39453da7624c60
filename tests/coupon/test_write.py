from __future__ import annotations

from pathlib import Path

import pytest

from checker.coupon import layers, measurements, write
from checker.engine import check
from checker.errors import UsageError
from checker.process import load_profile
from checker.read import read_board
from tests.coupon.made import board, built_in


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_folder_is_made_and_holds_every_file(tmp_path: Path) -> None:
    coupon, folder = built_in("cone-30-0.1"), tmp_path / "my" / "coupon"

    written = write(coupon, folder)

    assert names(folder) == sorted([*layers(coupon), "measurements.yaml", "sheet.html"])
    assert sorted(written) == sorted(folder.iterdir())
    assert (folder / "measurements.yaml").read_text() == measurements(coupon)


def test_written_folder_is_checked_like_any_board(tmp_path: Path) -> None:
    write(built_in("cone-30-0.1"), tmp_path)

    read = read_board([tmp_path])

    report = check(read, load_profile("cone-30-0.1"))
    same = check(board("cone-30-0.1"), load_profile("cone-30-0.1"))
    assert read.notes == ()
    assert {role for name, role in read.sources if name in ("measurements.yaml", "sheet.html")} == {
        "not used"
    }
    assert [(one.rule, one.seen.x) for one in report.findings] == [
        (one.rule, one.seen.x) for one in same.findings
    ]


def test_same_bytes_are_written_twice(tmp_path: Path) -> None:
    first, second = tmp_path / "a", tmp_path / "b"

    for folder in (first, second):
        write(built_in("etch"), folder)

    assert names(first) == names(second)
    assert [(first / name).read_bytes() for name in names(first)] == [
        (second / name).read_bytes() for name in names(second)
    ]


@pytest.mark.parametrize("name", ["measurements.yaml", "copper-top.gbr", "sheet.html"])
def test_file_that_is_there_stops_all_of_it(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine")

    with pytest.raises(UsageError) as caught:
        write(built_in("etch"), tmp_path)

    assert str(caught.value) == (
        f"coupon, folder {tmp_path}: holds {name} already; name another folder, or give --force"
    )
    assert names(tmp_path) == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_of_several_files_that_are_there_the_readings_are_named_first(tmp_path: Path) -> None:
    write(built_in("etch"), tmp_path)

    with pytest.raises(UsageError, match=r"holds measurements\.yaml already"):
        write(built_in("etch"), tmp_path)


def test_link_that_leads_nowhere_is_a_file_too(tmp_path: Path) -> None:
    (tmp_path / "sheet.html").symlink_to(tmp_path / "gone")

    with pytest.raises(UsageError, match=r"holds sheet\.html already"):
        write(built_in("etch"), tmp_path)


def test_force_writes_over_them_and_leaves_others_alone(tmp_path: Path) -> None:
    (tmp_path / "copper-top.gbr").write_text("old")
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "mask-top.gbr").write_text("G04 a board's own layer*\n")

    write(built_in("etch"), tmp_path, force=True)

    assert (tmp_path / "copper-top.gbr").read_text().startswith("G04 Coupon of cutworthy*")
    assert (tmp_path / "notes.txt").read_text() == "mine"
    assert (tmp_path / "mask-top.gbr").read_text() == "G04 a board's own layer*\n"


def test_grooves_of_another_coupon_are_not_left_beside_these(tmp_path: Path) -> None:
    write(built_in("cone-30-0.1"), tmp_path)

    write(built_in("etch"), tmp_path, force=True)

    assert names(tmp_path) == [
        "copper-top.gbr", "measurements.yaml", "profile.gbr", "sheet.html",
    ]  # fmt: skip


def test_grooves_of_another_coupon_stop_it_without_force(tmp_path: Path) -> None:
    write(built_in("cone-30-0.1"), tmp_path)
    for name in ("measurements.yaml", "sheet.html", "copper-top.gbr", "profile.gbr"):
        (tmp_path / name).unlink()

    with pytest.raises(UsageError, match=r"holds copper-bottom\.gbr already"):
        write(built_in("etch"), tmp_path)


def test_file_in_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    target = tmp_path / "coupon"
    target.write_text("mine")

    with pytest.raises(UsageError, match="is a file; expected a folder"):
        write(built_in("etch"), target, force=True)

    assert target.read_text() == "mine"


def test_folder_in_place_of_a_file_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / "profile.gbr").mkdir()

    with pytest.raises(UsageError, match=r"holds a folder profile\.gbr"):
        write(built_in("etch"), tmp_path, force=True)

    assert names(tmp_path) == ["profile.gbr"]


def test_failure_half_way_leaves_nothing_new(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "copper-top.gbr").write_text("old")
    whole = Path.write_bytes

    def full(path: Path, data: bytes) -> int:
        if "profile.gbr" in path.name:
            raise OSError(28, "No space left on device")
        return whole(path, data)

    monkeypatch.setattr(Path, "write_bytes", full)

    with pytest.raises(UsageError, match="cannot be written: No space left on device"):
        write(built_in("etch"), tmp_path, force=True)

    assert names(tmp_path) == ["copper-top.gbr"]
    assert (tmp_path / "copper-top.gbr").read_text() == "old"
