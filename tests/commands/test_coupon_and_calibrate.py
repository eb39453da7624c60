"""The way from a coupon to a profile on the command line."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from checker import cli, load_profile
from checker.console import CLEAN, FAILED

BOARD = Path(__file__).parents[2] / "samples" / "boards" / "coop-door"
SLOPE, FLAT = 0.6, 0.12  # mm of width for a mm of depth, and at none: a bit of 33 degrees


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a coupon for the default process."""
    folder = tmp_path_factory.mktemp("written") / "coupon"
    assert cli.main(["coupon", "cone-30-0.1", "-o", str(folder)]) == CLEAN
    return folder


@pytest.fixture
def form(written: Path, tmp_path: Path) -> Path:
    """The form of the coupon, with the grooves of a bit filled in."""
    file = shutil.copytree(written, tmp_path / "coupon") / "measurements.yaml"

    def filled(row: re.Match[str]) -> str:
        uneven = 0.002 * (len(row[2]) % 3 - 1)
        return f"{row[1]}{row[2]}width: {FLAT + SLOPE * float(row[3]) + uneven:.3f}}}"

    text = re.sub(
        r"(- \{)(depth: ([\d.]+) mm, along: \w+, place: [\w ]+, )width: *\}",
        filled,
        file.read_text(encoding="utf-8"),
    )
    file.write_text(text, encoding="utf-8")
    return file


def test_a_filled_form_becomes_a_profile_that_loads(
    form: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status = cli.main(["calibrate", "cone-30-0.1", str(form)])

    out = capsys.readouterr().out
    process = load_profile(form.with_name("cone-30-0.1-measured.yaml"))
    assert status == CLEAN
    assert process.measured
    assert process.cut is not None
    depth = load_profile("cone-30-0.1").bit.depth.nominal  # type: ignore[union-attr]
    assert process.cut.nominal == pytest.approx(FLAT + SLOPE * depth, abs=0.003)
    assert "Written: " in out


def test_a_profile_that_is_there_stays_unless_forced(
    form: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = form.with_name("mine.yaml")
    target.write_text("based_on: flat-0.4\n", encoding="utf-8")
    line = ["calibrate", "cone-30-0.1", str(form), "-o", str(target)]

    refused = cli.main(line)
    text = target.read_text(encoding="utf-8")
    forced = cli.main([*line, "--force"])

    assert (refused, text, forced) == (FAILED, "based_on: flat-0.4\n", CLEAN)
    assert load_profile(target).measured
    assert "--force" in capsys.readouterr().err


@pytest.mark.parametrize("form_of", ["json", "html", "svg"])
def test_the_account_goes_to_a_file(
    form: Path, form_of: str, capsys: pytest.CaptureFixture[str]
) -> None:
    account = form.with_name(f"account.{form_of}")

    status = cli.main(
        ["calibrate", "cone-30-0.1", str(form), "--format", form_of, "--account", str(account)]
    )

    assert status == CLEAN
    assert capsys.readouterr().out == ""
    assert "cutworthy" in account.read_text(encoding="utf-8")


@pytest.mark.parametrize("ending", ["html", "json", "svg", "txt"])
def test_the_account_is_not_asked_for_by_the_name_of_the_profile(
    form: Path, ending: str, capsys: pytest.CaptureFixture[str]
) -> None:
    target = form.with_name(f"account.{ending}")

    status = cli.main(["calibrate", "cone-30-0.1", str(form), "-o", str(target)])

    assert status == FAILED
    assert "takes the profile" in capsys.readouterr().err
    assert not target.exists()


def test_verdicts_before_and_after_are_told(form: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = ["calibrate", "cone-30-0.1", str(form), "--board", str(BOARD), "--format", "json"]

    status = cli.main(line)

    (change,) = json.loads(capsys.readouterr().out)["boards"]
    assert status == CLEAN
    assert change["name"] == "coop-door"


def test_an_empty_form_is_one_line_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["coupon", "flat-0.4", "-o", str(tmp_path)])
    capsys.readouterr()

    status = cli.main(["calibrate", "flat-0.4", str(tmp_path / "measurements.yaml")])

    out, err = capsys.readouterr()
    assert (status, out, err.count("\n")) == (FAILED, "", 1)
    assert not (tmp_path / "flat-0.4-measured.yaml").exists()


def test_a_check_says_who_measured_the_width(
    form: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["calibrate", "cone-30-0.1", str(form)])
    measured = str(form.with_name("cone-30-0.1-measured.yaml"))
    capsys.readouterr()

    cli.main(["check", str(BOARD), "-p", "cone-30-0.1", "-p", measured])

    out = capsys.readouterr().out
    assert out.count("nobody measured it") == 1
    assert out.count("width was measured") == 1


def test_a_coupon_is_not_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = ["coupon", "flat-0.4", "-o", str(tmp_path)]

    stati = [cli.main(line), cli.main(line), cli.main([*line, "--force"])]

    assert stati == [CLEAN, FAILED, CLEAN]
    assert "measurements.yaml already" in capsys.readouterr().err


def test_boards_are_judged_with_what_is_configured_for_them(
    form: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = shutil.copytree(BOARD, tmp_path / "door")
    (board / ".cutworthy.yaml").write_text("top: true\nstock: {drills: [0.2]}\n")

    status = cli.main(
        ["calibrate", "cone-30-0.1", str(form), "--board", str(board), "--format", "json"]
    )

    (change,) = json.loads(capsys.readouterr().out)["boards"]
    assert status == CLEAN
    assert change["before"] == change["after"] == "not-makeable"


def test_a_board_that_cannot_be_read_leaves_no_profile(
    form: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status = cli.main(["calibrate", "cone-30-0.1", str(form), "--board", str(tmp_path / "none")])

    assert status == FAILED
    assert "none" in capsys.readouterr().err
    assert not form.with_name("cone-30-0.1-measured.yaml").exists()
