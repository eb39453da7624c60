"""The command line in a hardware repository: configuration, waivers, baseline, cache."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from checker import cli, many
from checker.console import CLEAN, FAILED, FOUND

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture
def hens(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository with two boards, and the working folder in it."""
    (tmp_path / "hens" / ".git").mkdir(parents=True)
    boards = tmp_path / "hens" / "boards"
    shutil.copytree(SAMPLES / "boards" / "coop-door", boards / "coop-door")
    shutil.copytree(SAMPLES / "rules" / "uncuttable-gap" / "bad", boards / "feeder")
    monkeypatch.chdir(tmp_path / "hens")
    return tmp_path / "hens"


def configure(folder: Path, text: str) -> None:
    (folder / ".cutworthy.yaml").write_text(text, encoding="utf-8")


def add_a_line(file: Path) -> None:
    file.write_text(file.read_text(encoding="utf-8") + "\n", encoding="utf-8")


def document(*line: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    cli.main([*line, "--format", "json"])
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def lines(*line: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    cli.main(["check", *line, "--format", "concise"])
    return capsys.readouterr().out.splitlines()


# --- configuration --------------------------------------------------------------------------


def test_a_line_without_a_board_takes_those_of_the_configuration(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "boards: ['boards/*']\nprofiles: [cone-20-0.1, flat-0.4]\n")

    found = document("check", capsys=capsys)

    judged = [(one["board"]["name"], one["profile"]["name"]) for one in found["reports"]]
    assert judged == [
        (board, profile)
        for board in ("coop-door", "feeder")
        for profile in ("cone-20-0.1", "flat-0.4")
    ]


def test_the_line_goes_before_the_configuration(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "profiles: [cone-20-0.1]\nseverity: {loose-strip: error}\n")

    found = document("check", "boards/coop-door", "-p", "flat-0.8", capsys=capsys)

    assert found["profile"]["name"] == "flat-0.8"
    assert {f["severity"] for f in found["findings"] if f["rule"] == "loose-strip"} == {"error"}


def test_a_line_may_pass_over_the_configuration(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "profiles: [no-such]\n")

    found = document("check", "boards/coop-door", "--no-config", capsys=capsys)

    assert found["profile"]["name"] == "cone-30-0.1"


def test_drills_of_the_stock_are_those_of_every_profile(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "stock: {drills: [3.0]}\n")

    found = document("check", "boards/coop-door", capsys=capsys)

    assert found["profile"]["drills"]["sizes"] == [3.0]
    assert "unowned-drill" in {one["rule"] for one in found["findings"]}


def test_bits_of_the_stock_are_what_is_compared(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "stock: {bits: [flat-0.8, cone-20-0.1]}\n")

    found = document("compare", "boards/coop-door", capsys=capsys)

    assert {one["name"] for one in found["processes"]} == {"flat-0.8", "cone-20-0.1"}


def test_bits_of_the_stock_that_would_do_are_named(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "stock: {bits: [flat-0.8, cone-20-0.1, flat-0.4]}\n")

    found = document("check", "boards/coop-door", "-p", "flat-0.8", capsys=capsys)
    cli.main(["check", "boards/coop-door", "-p", "flat-0.8"])
    text = capsys.readouterr().out

    fit = {
        one["name"]
        for one in document("compare", "boards/coop-door", capsys=capsys)["processes"]
        if (one["margin_mm"] or 0) > 0
    }
    assert set(found["drawer"]) == fit
    assert "flat-0.8" not in fit
    assert f"of your bits {', '.join(found['drawer'])} cut no wider at the worst" in text


@pytest.mark.parametrize("command", ["check", "compare", "measure", "config"])
def test_a_fault_of_the_configuration_is_one_line(
    hens: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "profile: cone-20-0.1\n")

    status = cli.main([command, "boards/coop-door"])

    out, err = capsys.readouterr()
    assert (status, out, err.count("\n")) == (FAILED, "", 1)
    assert ".cutworthy.yaml:1" in err
    assert "did you mean profiles?" in err


def test_a_rule_that_is_none_is_named_with_its_line(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "severity: {lose-strip: note}\n")

    status = cli.main(["check", "boards/coop-door"])

    err = capsys.readouterr().err
    assert status == FAILED
    assert ".cutworthy.yaml:1" in err
    assert "did you mean loose-strip?" in err


def test_without_a_board_or_a_configuration_it_says_what_to_do(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status = cli.main(["check"])

    out, err = capsys.readouterr()
    assert (status, out, err.count("\n")) == (FAILED, "", 1)
    assert ".cutworthy.yaml" in err
    assert "name a board" in err


def test_config_shows_what_is_in_force_and_where_it_stands(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(hens, "profiles: [flat-0.4]\n")
    configure(hens / "boards" / "coop-door", "nets: {12V: 12 V}\n")

    status = cli.main(["config", "boards/coop-door"])

    out = capsys.readouterr().out
    assert status == CLEAN
    assert "flat-0.4" in out
    assert ".cutworthy.yaml:1" in out
    assert "12V" in out


def test_config_of_a_board_that_is_not_there_is_one_line(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status = cli.main(["config", "boards/no-such"])

    out, err = capsys.readouterr()
    assert (status, out, err.count("\n")) == (FAILED, "", 1)
    assert "there is no such file" in err


# --- waivers and baseline -------------------------------------------------------------------


def test_what_is_waived_fails_no_more(hens: Path, capsys: pytest.CaptureFixture[str]) -> None:
    nets = document("check", "boards/coop-door", "-p", "flat-0.8", capsys=capsys)["findings"]
    waivers = "".join(
        f"  - {{rule: {one['rule']}, reason: cut by knife, nets: {json.dumps(one['nets'])}}}\n"
        for one in nets
        if one["severity"] == "error"
    )
    configure(hens, f"waivers:\n{waivers}")

    status = cli.main(["check", "boards/coop-door", "-p", "flat-0.8"])

    out = capsys.readouterr().out
    assert status == CLEAN
    assert out.startswith("Marginal: coop-door with flat-0.8")
    assert "cut by knife" in out


def test_a_waiver_of_no_use_is_told(hens: Path, capsys: pytest.CaptureFixture[str]) -> None:
    configure(hens, "waivers:\n- {rule: thin-copper, nets: [LAMP], reason: thick enough}\n")

    told = lines("boards/coop-door", capsys=capsys)

    assert [line for line in told if ".cutworthy.yaml:2" in line and "fits nothing" in line]


def test_only_what_is_new_fails_once_a_baseline_is_recorded(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = ["check", "boards/coop-door", "-p", "flat-0.8"]
    before = cli.main(line)
    recorded = cli.main(["baseline", "boards/coop-door", "-p", "flat-0.8"])
    after = cli.main(line)
    all_count = cli.main([*line, "--no-baseline"])

    out = capsys.readouterr().out
    assert (before, recorded, after, all_count) == (FOUND, CLEAN, CLEAN, FOUND)
    assert out.count("Not makeable: coop-door with flat-0.8") == 3


def test_a_baseline_shrinks_by_itself_and_never_grows(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, file = "boards/coop-door", hens / "boards" / "coop-door" / ".cutworthy-baseline.json"
    cli.main(["baseline", folder, "-p", "flat-0.8"])
    cli.main(["baseline", folder, "-p", "flat-0.4"])
    text = file.read_text(encoding="utf-8")
    entry = next(line for line in text.splitlines() if '"uncuttable-gap"' in line)
    gone = entry.replace('"pins": [', '"pins": ["U99.1", ').replace(", ]", "]")
    file.write_text(text.replace(entry, f"{entry}\n{gone}".replace("}\n", "},\n")), "utf-8")

    cli.main(["check", folder, "-p", "flat-0.8"])

    assert file.read_text(encoding="utf-8") == text
    capsys.readouterr()


def test_a_baseline_that_is_damaged_is_one_line_and_can_be_made_again(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (hens / "boards" / "coop-door" / ".cutworthy-baseline.json").write_text("{")

    status = cli.main(["check", "boards/coop-door"])

    out, err = capsys.readouterr()
    assert (status, out, err.count("\n")) == (FAILED, "", 1)
    assert "cutworthy baseline" in err
    assert cli.main(["baseline", "boards/coop-door"]) == CLEAN
    assert cli.main(["check", "boards/coop-door"]) == CLEAN


# --- cache ----------------------------------------------------------------------------------


def never(*_: object) -> None:
    raise AssertionError("the board is judged anew")


@pytest.mark.parametrize("form", ["text", "concise", "json", "sarif", "junit", "github"])
def test_an_unchanged_board_is_answered_the_same_without_being_judged(
    hens: Path, form: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    line = ["check", "boards/coop-door", "-p", "flat-0.8", "--format", form]
    first = cli.main(line), capsys.readouterr().out.rpartition("cutworthy took")[0]
    monkeypatch.setattr(many, "judged", never)

    second = cli.main(line), capsys.readouterr().out.rpartition("cutworthy took")[0]

    assert second == first
    assert first[0] == FOUND


@pytest.mark.parametrize(
    "change",
    [
        lambda hens: add_a_line(hens / "boards/coop-door/copper-bottom.gbr"),
        lambda hens: configure(hens, "severity: {loose-strip: error}\n"),
        lambda hens: configure(hens, "layers: {ignore: '*legend*'}\n"),
        lambda hens: configure(hens, "profiles: [flat-0.4]\n"),
    ],
    ids=["board", "severity", "layers", "profile"],
)
def test_a_change_of_what_an_answer_follows_from_is_judged(
    hens: Path, change: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    cli.main(["check", "boards/coop-door", "--format", "json"])
    change(hens)
    monkeypatch.setattr(many, "judged", never)
    monkeypatch.setenv("CUTWORTHY_DEBUG", "1")

    with pytest.raises(AssertionError, match="judged anew"):
        cli.main(["check", "boards/coop-door", "--format", "json"])


def test_waivers_need_no_board_judged_anew(
    hens: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["check", "boards/coop-door", "--format", "concise"])
    configure(hens, "waivers:\n- {rule: loose-strip, nets: [GND], reason: small}\n")
    monkeypatch.setattr(many, "judged", never)
    capsys.readouterr()

    told = lines("boards/coop-door", capsys=capsys)

    assert "3 waived" in told[-1]


def test_nothing_is_kept_where_the_line_says_so(hens: Path, nothing_kept: Path) -> None:
    cli.main(["check", "boards/coop-door", "--no-cache"])

    assert list(nothing_kept.rglob("*.answer")) == []


def test_a_cache_that_cannot_be_written_is_told_and_changes_no_answer(
    hens: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (hens / "file").write_text("no folder")
    monkeypatch.setenv("CUTWORTHY_CACHE", str(hens / "file"))

    status = cli.main(["check", "boards/coop-door", "--format", "concise"])

    out, err = capsys.readouterr()
    assert status == CLEAN
    assert "coop-door with cone-30-0.1: makeable" in out
    assert err.count("\n") == 1
    assert "answers are not kept" in err


def test_cache_counts_and_drops_answers(
    hens: Path, nothing_kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["check", "boards/coop-door", "-p", "flat-0.4", "-p", "flat-0.8"])
    capsys.readouterr()

    stati = [cli.main(["cache"]), cli.main(["cache", "--clear"]), cli.main(["cache"])]

    kept, dropped, left = capsys.readouterr().out.splitlines()
    assert stati == [CLEAN] * 3
    assert kept.startswith("2 answers kept")
    assert dropped.startswith("2 answers dropped")
    assert left.startswith("0 answers kept")


# --- several boards -------------------------------------------------------------------------


def test_a_tree_of_boards_is_judged_at_once_as_it_is_one_by_one(
    hens: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    together = lines("boards", "--jobs", "2", "--no-cache", capsys=capsys)

    alone = [
        line
        for name in ("coop-door", "feeder")
        for line in lines(f"boards/{name}", "--no-cache", capsys=capsys)
    ]
    assert together == alone


def test_only_the_board_that_changed_is_judged_again(
    hens: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["check", "boards", "--format", "concise"])
    add_a_line(hens / "boards/feeder/copper-bottom.gbr")
    names: list[str] = []
    judged = many.judged

    def noted(job: many.Job, *rest: Any) -> Any:
        names.append(job.name)
        return judged(job, *rest)

    monkeypatch.setattr(many, "judged", noted)

    cli.main(["check", "boards", "--format", "concise"])

    assert names == ["feeder"]
    capsys.readouterr()
