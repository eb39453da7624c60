from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from subprocess import PIPE, CompletedProcess
from typing import IO, Any

import pytest

from checker import cli
from checker.cache.store import VARIABLE
from checker.commands import explain
from checker.console import CLEAN, FAILED, FOUND
from checker.process import DEFAULT_PROFILE, profile_names
from checker.read.roles import ROLES
from checker.registry import load_rules
from tests.examples import quick
from tests.waiting import needs_pipes

ROOT = Path(__file__).parents[1]
BOARD = str(ROOT / "samples" / "boards" / "coop-door")
FULL = Path("/dev/full")
THREADS = "OPENBLAS_NUM_THREADS"
TOOK = re.compile(rb"took [\d.]+ s")


def fault(capsys: pytest.CaptureFixture[str]) -> str:
    """What was said on standard error: exactly one line, and nothing on standard output."""
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.startswith("cutworthy: ")
    return err


@pytest.mark.parametrize(
    ("line", "advice"),
    [
        (["chek", "board"], "did you mean check?"),
        (["check", "board", "--proflie", "laser"], "did you mean --profile?"),
        (["check", "board", "--profil=laser"], "did you mean --profile?"),
        (["check", "board", "--format", "jsn"], "did you mean json?"),
        (["check", "board", "--fail-on", "warn"], "did you mean warning?"),
        (["measure", "board", "--recah", "1"], "did you mean --reach?"),
        (["explain", "--ruls"], "known here: --help"),
        (["--versoin"], "did you mean --version?"),
    ],
)
def test_unknown_word_names_the_nearest_known_one(
    line: list[str], advice: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(line) == FAILED

    assert advice in fault(capsys)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ([], "no command; expected one of check, "),
        (["check"], "list them there: boards:"),
        (["compare"], "BOARD"),
        (["check", "board", "--profile"], "expected one argument"),
        (["profiles", "laser", "etch"], "etch is one word too many"),
        (["check", "board", "--layer", "top"], "top is not ROLE=FILE"),
        (["measure", "board", "--reach", "-1"], "expected millimetres"),
        (["measure", "board", "--reach", "nan"], "expected millimetres"),
        (["measure", "board", "--reach", "1000"], "up to 5"),
    ],
)
def test_fault_of_the_line_is_one_line_that_says_what_is_expected(
    line: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(line) == FAILED

    assert said in fault(capsys)


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (KeyboardInterrupt(), "stopped before the end"),
        (MemoryError(), "more memory than there is"),
        (RecursionError(), "nested too deeply"),
        (PermissionError(13, "Permission denied", "board"), "board: Permission denied"),
        (OSError(28, "No space left on device"), "No space left on device"),
        (ValueError("one\ntwo\x1b[31m"), r"(ValueError: one\ntwo\x1b[31m)"),
    ],
    ids=lambda value: type(value).__name__,
)
def test_whatever_happens_is_one_line_and_status_2(
    error: BaseException,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def explode(*_: object) -> int:
        raise error

    monkeypatch.setattr(explain, "run", explode)
    monkeypatch.delenv("CUTWORTHY_DEBUG", raising=False)

    assert cli.main(["explain"]) == FAILED

    assert said in fault(capsys)


def test_our_own_fault_asks_for_a_report_with_the_version(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(explain, "run", lambda _: 1 // 0)
    monkeypatch.delenv("CUTWORTHY_DEBUG", raising=False)

    assert cli.main(["explain"]) == FAILED

    assert re.search(r"a fault of version \d+\.\d+.*please report it", fault(capsys))


def test_our_own_fault_shows_its_traceback_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(explain, "run", lambda _: 1 // 0)
    monkeypatch.setenv("CUTWORTHY_DEBUG", "1")

    with pytest.raises(ZeroDivisionError):
        cli.main(["explain"])


def test_version_goes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == CLEAN

    assert re.fullmatch(r"cutworthy \d+\.\d+\.\d+\S*\n", capsys.readouterr().out)


@pytest.mark.parametrize("command", ["check", "measure", "profiles", "explain"])
def test_help_of_every_command_fits_80_columns(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")

    assert cli.main([command, "--help"]) == CLEAN

    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def run(*line: str, cwd: Path = ROOT, **streams: IO[Any] | int) -> CompletedProcess[str]:
    """The command in a process of its own, as a shell starts it."""
    streams = {"stdout": PIPE, "stderr": PIPE, **streams}
    command = [sys.executable, "-m", "checker", *line]
    return subprocess.run(command, cwd=cwd, text=True, check=False, **streams)  # type: ignore[call-overload, no-any-return] # streams are what Popen takes


def test_closed_pipe_is_one_line_and_status_2() -> None:
    reading, writing = os.pipe()
    os.close(reading)

    ended = run("profiles", stdout=writing)

    assert ended.returncode == FAILED
    assert ended.stderr == "cutworthy: the reader of the output closed it before the end\n"


@pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize(
    ("line", "where"),
    [
        (["profiles"], "standard output"),
        (["check", BOARD], "standard output"),
        (["check", BOARD, "--output", FULL], str(FULL)),
    ],
)
def test_full_disk_is_one_line_and_status_2(line: list[str | Path], where: str) -> None:
    with FULL.open("w") as full:
        ended = run(*map(str, line), stdout=full)

    assert ended.returncode == FAILED
    assert ended.stderr == f"cutworthy: {where}: No space left on device\n"


def closing(stream: str, *line: str) -> CompletedProcess[str]:
    """The command as a shell starts it that closes a stream, such as ``>&-``, before."""
    command = ["sh", "-c", f'exec "$@" {stream}', "sh", sys.executable, "-m", "checker", *line]
    return subprocess.run(command, cwd=ROOT, text=True, check=False, capture_output=True)


@needs_pipes
def test_standard_output_that_is_closed_is_one_line_and_status_2() -> None:
    ended = closing(">&-", "check", str(BOARD))

    assert ended.returncode == FAILED
    assert ended.stderr == "cutworthy: standard output: Bad file descriptor\n"


@needs_pipes
def test_closed_standard_output_does_no_harm_to_a_file(tmp_path: Path) -> None:
    ended = closing(">&-", "check", str(BOARD), "--output", str(tmp_path / "report.txt"))

    assert ended.returncode == CLEAN
    assert (tmp_path / "report.txt").read_text().startswith("Makeable")


@needs_pipes
def test_no_word_goes_astray_where_standard_error_is_closed() -> None:
    ended = closing("2>&-", "check", str(BOARD), "--format", "concise")

    assert ended.stdout == run("check", str(BOARD), "--format", "concise").stdout


@needs_pipes
def test_standard_output_by_its_name_takes_a_report() -> None:
    line = ["check", str(BOARD), "--format", "json"]

    named = run(*line, "--output", "/dev/stdout")

    assert named.stdout == run(*line).stdout


def test_console_that_knows_few_letters_gets_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")

    ended = run("profiles", DEFAULT_PROFILE)

    assert r"1 oz/ft\xb2" in ended.stdout
    assert ended.returncode == CLEAN


def test_sample_board_is_judged_and_the_status_follows(capsys: pytest.CaptureFixture[str]) -> None:
    status = cli.main(["check", BOARD, "--format", "json"])

    report = json.loads(capsys.readouterr().out)
    errors = [found for found in report["findings"] if found["severity"] == "error"]
    assert report["schema"] == "cutworthy.report/1"
    assert report["profile"]["name"] == DEFAULT_PROFILE
    assert status == (FOUND if errors else CLEAN)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache for tests that ask the same and say so."""
    return tmp_path_factory.mktemp("shared")


@pytest.mark.parametrize(
    ("fail_on", "status"), [("error", CLEAN), ("warning", FOUND), ("note", FOUND)]
)
def test_fail_on_weighs_lighter_findings_too(
    fail_on: str,
    status: int,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    shared: Path,
) -> None:
    monkeypatch.setenv(VARIABLE, str(shared))
    board = str(ROOT / "samples" / "boards" / "hive-scale")
    line = ["check", board, "--profile", "cone-60-0.2", "--format", "json"]

    assert cli.main([*line, "--fail-on", fail_on]) == status

    findings = json.loads(capsys.readouterr().out)["findings"]
    assert {found["severity"] for found in findings} == {"note", "warning"}


def test_several_profiles_give_a_report_each_in_the_order_asked(
    capsys: pytest.CaptureFixture[str],
) -> None:
    line = ["check", BOARD, "--format", "json"]
    cli.main([*line, "--profile", "flat-0.8", "--profile", "cone-20-0.1"])
    several = json.loads(capsys.readouterr().out)
    cli.main([*line, "--profile", "cone-20-0.1"])
    alone = json.loads(capsys.readouterr().out)

    assert several["schema"] == "cutworthy.reports/1"
    assert [one["profile"]["name"] for one in several["reports"]] == ["flat-0.8", "cone-20-0.1"]
    # What is counted reaches as far as the widest cut asked for; what is found does not.
    assert several["reports"][1] | {"counts": None} == alone | {"counts": None}


def test_files_may_stand_on_both_sides_of_an_option(capsys: pytest.CaptureFixture[str]) -> None:
    files = sorted(map(str, (ROOT / BOARD).iterdir()))
    whole = cli.main(["check", *files, "--format", "json"]), capsys.readouterr().out

    parted = (
        cli.main(["check", *files[:2], "--format", "json", *files[2:]]),
        capsys.readouterr().out,
    )

    assert parted == whole


def test_nothing_to_judge_is_no_pass(capsys: pytest.CaptureFixture[str]) -> None:
    copper = str(ROOT / BOARD / "copper-bottom.gbr")

    status = cli.main(["check", copper, "--profile", "perfboard"])

    out, err = capsys.readouterr()
    assert out.startswith("Not checked: copper-bottom with perfboard\n")
    assert err == "cutworthy: nothing was there to judge, which is no pass\n"
    assert status == FAILED


@pytest.mark.parametrize("option", ["--output", "-o"])
def test_report_goes_to_a_file_and_the_verdict_to_standard_error(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = tmp_path / "report.json"

    cli.main(["check", BOARD, "--format", "json", option, str(report)])

    out, err = capsys.readouterr()
    verdict = json.loads(report.read_text())["verdict"].replace("-", " ")
    assert out == ""
    assert err == f"cutworthy: {verdict} with {DEFAULT_PROFILE}; see {report}\n"


def test_several_verdicts_name_their_boards_in_a_line_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = str(ROOT / "samples" / "rules" / "uncuttable-gap" / "bad")
    report = tmp_path / "re\nport.json"

    cli.main(["check", BOARD, other, "--format", "json", "--output", str(report)])

    assert re.findall(r"^cutworthy: (\S+): (.+) with \S+; see", capsys.readouterr().err, re.M) == [
        ("coop-door", "makeable"),
        ("bad", "not makeable"),
    ]


@pytest.mark.parametrize("command", ["check", "measure"])
def test_file_that_is_no_board_leaves_the_old_report_alone(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report, junk = tmp_path / "report.txt", tmp_path / "junk.gbr"
    report.write_text("old")
    junk.write_bytes(bytes(range(256)) * 16)

    status = cli.main([command, str(junk), "--output", str(report)])

    assert status == FAILED
    assert "junk.gbr" in fault(capsys)
    assert report.read_text() == "old"


def test_board_file_is_never_the_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(ROOT / BOARD, tmp_path / "board")
    before = {path: path.read_bytes() for path in (tmp_path / "board").iterdir()}

    stati = {cli.main(["check", str(tmp_path / "board"), "--output", str(path)]) for path in before}

    assert stati == {FAILED}
    assert {path: path.read_bytes() for path in (tmp_path / "board").iterdir()} == before
    assert capsys.readouterr().err.count("is one of the board's files") == len(before)


@pytest.mark.parametrize("wanted", ["absent", "absent.zip", "pyproject.toml"])
def test_board_that_is_not_there_is_one_line(
    wanted: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)

    assert cli.main(["check", wanted]) == FAILED

    assert wanted in fault(capsys)


def test_unknown_rule_and_profile_name_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["explain", "uncutable-gap"]) == FAILED
    assert "did you mean uncuttable-gap?" in fault(capsys)

    assert cli.main(["check", BOARD, "--profile", "cone-30-0.11"]) == FAILED
    assert "did you mean cone-30-0.1?" in fault(capsys)


@pytest.mark.parametrize("role", [role for role in ROLES if not role.endswith("-bottom")])
def test_the_help_on_layer_names_every_role(role: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "--help"]) == CLEAN

    said = re.sub(r"(?<=-)\s+", "", capsys.readouterr().out)
    assert re.search(rf"\b{role}\b", said)


def test_explain_takes_a_profile_as_check_does(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["explain", "tight-gap", "-p", "flat-0.4"]) == CLEAN

    assert "In force with flat-0.4" in capsys.readouterr().out


def test_every_rule_has_a_page_and_every_profile_too(capsys: pytest.CaptureFixture[str]) -> None:
    stati = {cli.main(["explain", name]) for name in load_rules()}
    stati |= {cli.main(["profiles", name]) for name in profile_names()}

    assert stati == {CLEAN}
    assert capsys.readouterr().err == ""


def test_measured_facts_cover_what_was_reached_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["measure", BOARD, "--reach", "0.8", "--format", "json"]) == CLEAN

    facts = json.loads(capsys.readouterr().out)
    layers = facts["board"]["layers"]
    assert facts["reach_mm"] == 0.8
    assert len(facts["islands"]) == sum(layer["islands"] for layer in layers)
    area = sum(island["area_mm2"] for island in facts["islands"])
    assert area == pytest.approx(sum(layer["copper_mm2"] for layer in layers), abs=0.01)
    assert all((gap["widest_cut_mm"] or 0.8) <= 0.8 for gap in facts["gaps"])


def test_role_given_by_hand_wins(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    copper = next((ROOT / BOARD).glob("copper-bottom*"))
    shutil.copy(copper, tmp_path / "one.gbr")

    status = cli.main(
        ["measure", str(tmp_path / "one.gbr"), "--layer", "top=one.gbr", "--format", "json"]
    )

    assert status == CLEAN
    assert [layer["side"] for layer in json.loads(capsys.readouterr().out)["board"]["layers"]] == [
        "top"
    ]


def test_several_boards_give_one_report_with_an_index(capsys: pytest.CaptureFixture[str]) -> None:
    other = str(ROOT / "samples" / "rules" / "uncuttable-gap" / "bad")

    status = cli.main(["check", BOARD, other])

    out = capsys.readouterr().out
    assert out.startswith("2 boards by 1 process\n")
    assert re.findall(r"^(\S+) +cone-30-0.1 +(makeable|not makeable) ", out, re.MULTILINE) == [
        ("coop-door", "makeable"),
        ("bad", "not makeable"),
    ]
    assert out.count("\nMakeable: coop-door") == out.count("\nNot makeable: bad") == 1
    assert status == FOUND


def test_several_boards_are_a_list_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    other = str(ROOT / "samples" / "rules" / "uncuttable-gap" / "good")

    status = cli.main(["check", BOARD, other, "-p", "flat-0.4", "-p", "laser", "--format", "json"])

    reports = json.loads(capsys.readouterr().out)["reports"]
    told = [(one["board"]["name"], one["profile"]["name"]) for one in reports]
    assert told == [(b, p) for b in ("coop-door", "good") for p in ("flat-0.4", "laser")]
    assert status == CLEAN


def test_boards_with_one_name_are_told_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("one", "two"):
        shutil.copytree(BOARD, tmp_path / name / "gerber")

    cli.main(["check", "one/gerber", "two/gerber", "--format", "json"])

    reports = json.loads(capsys.readouterr().out)["reports"]
    assert [one["board"]["name"] for one in reports] == ["one/gerber", "two/gerber"]


def test_of_several_boards_a_fault_says_whose_file_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken, empty = tmp_path / "broken", tmp_path / "empty"
    shutil.copytree(BOARD, broken)
    empty.mkdir()
    copper = broken / "copper-bottom.gbr"
    copper.write_bytes(copper.read_bytes()[:2000])

    assert cli.main(["check", BOARD, str(broken), str(empty)]) == FAILED

    told = capsys.readouterr().err.splitlines()
    assert f"cutworthy: {broken}: copper-bottom.gbr:" in "\n".join(told)
    assert f"cutworthy: {empty}: holds no board files" in "\n".join(told)


def test_one_board_of_several_that_cannot_be_read_does_not_silence_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "empty").mkdir()

    status = cli.main(["check", str(tmp_path / "empty"), BOARD, "--format", "json"])

    out, err = capsys.readouterr()
    assert json.loads(out)["board"]["name"] == "coop-door"
    assert err.count("\n") == 1
    assert "empty" in err
    assert status == FAILED


@pytest.mark.parametrize("command", ["compare", "measure"])
def test_other_commands_take_one_board(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    other = str(ROOT / "samples" / "boards" / "hive-scale")

    assert cli.main([command, BOARD, other]) == FAILED

    assert f"{command}: 2 boards are named; expected one board" in fault(capsys)


@pytest.mark.parametrize(
    ("more", "told"), [([], False), (["--all"], True), (["--format", "json"], True)]
)
def test_a_comparison_tells_remarks_where_all_causes_are_told(
    more: list[str], told: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    strips = str(ROOT / "samples" / "rules" / "loose-strip" / "bad")

    cli.main(["compare", strips, "-p", "cone-30-0.1", "-p", "flat-0.8", *more])

    assert ("strips of leftover copper" in capsys.readouterr().out) is told


def test_roles_by_hand_are_for_one_board(capsys: pytest.CaptureFixture[str]) -> None:
    other = str(ROOT / "samples" / "boards" / "hive-scale")

    assert cli.main(["check", BOARD, other, "--layer", "top=a.gbr"]) == FAILED

    assert "--layer: 2 boards are named; expected one board" in fault(capsys)


@pytest.mark.parametrize("form", ["svg", "png", "gerber"])
def test_a_picture_is_of_one_answer(form: str, capsys: pytest.CaptureFixture[str]) -> None:
    line = ["check", BOARD, "-p", "flat-0.4", "-p", "laser", "--format", form]

    assert cli.main(line) == FAILED

    assert "shows one board with one process, here are 2" in fault(capsys)


@pytest.mark.parametrize("form", quick(["text", "json", "png"], ["text", "png"]))
def test_a_format_goes_to_a_pipe_and_to_a_file_alike(form: str, tmp_path: Path) -> None:
    line = [sys.executable, "-m", "checker", "check", BOARD, "--format", form]

    piped = subprocess.run(line, cwd=ROOT, capture_output=True, check=False)
    subprocess.run([*line, "--output", tmp_path / "report"], cwd=ROOT, check=False, stderr=PIPE)

    assert piped.returncode == CLEAN
    assert piped.stderr == b""
    assert TOOK.sub(b"", piped.stdout) == TOOK.sub(b"", (tmp_path / "report").read_bytes())


@pytest.mark.parametrize(("given", "kept"), [({}, "1"), ({THREADS: "3"}, "3")])
def test_numpy_keeps_to_one_thread_unless_told(given: dict[str, str], kept: str) -> None:
    told = f"cli.main = lambda: print(os.environ['{THREADS}']) or 0"
    without = {name: value for name, value in os.environ.items() if name != THREADS}

    done = subprocess.run(
        [sys.executable, "-c", f"import os; from checker import cli; {told}; cli.run()"],
        cwd=ROOT,
        env=without | given,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.stdout == f"{kept}\n"
