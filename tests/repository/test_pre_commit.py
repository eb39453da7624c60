"""The hook, run by pre-commit itself in a repository of its own.

The one test that installs the hook as a stranger would takes what the hook needs from where the
tests run.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from checker import read_board
from tests.examples import quick
from tests.repository.asked import ROOT, TO_BUILD, TO_RUN, link

BOARDS = sorted((ROOT / "samples" / "boards").iterdir())
OPEN_BOARDS = ROOT.parent / "shared" / "boards"
HOOKS = ROOT / ".pre-commit-hooks.yaml"
HOOK: dict[str, Any] = yaml.safe_load(HOOKS.read_text(encoding="utf-8"))[0]
NOT_USED = "not used"
LARGE = 500_000  # bytes; larger boards take long to read
RUNS, SKIPPED = re.compile(r"^cutworthy\.+(Passed|Failed)$", re.M), "(no files to check)Skipped"

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="there is no git here")


def run(*command: str, cwd: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """A command in a repository, untouched by the settings of whoever runs it."""
    surroundings = {k: v for k, v in os.environ.items() if not k.startswith(("GIT_", "PRE_COMMIT"))}
    surroundings |= {
        "PATH": os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]]),
        "PRE_COMMIT_HOME": str(cwd.parent / "pre-commit"),
        "PRE_COMMIT_COLOR": "never",
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_CONFIG_NOSYSTEM": "1",
        **{f"GIT_{who}_{what}": "maker@example.org" for who in ("AUTHOR", "COMMITTER")
           for what in ("NAME", "EMAIL")},
        **more,
    }  # fmt: skip
    return subprocess.run(command, cwd=cwd, env=surroundings, capture_output=True, text=True)


def git(*words: str, cwd: Path) -> str:
    done = run("git", *words, cwd=cwd)
    assert done.returncode == 0, done.stderr
    return done.stdout


def repository(folder: Path, repo: dict[str, Any]) -> Path:
    """A hardware repository that holds a board and everything else that such a one holds."""
    shutil.copytree(ROOT / "samples" / "boards" / "coop-door", folder / "door")
    (folder / "mine.yaml").write_text("based_on: flat-0.4\n")
    (folder / "README.md").write_text("A door for hens\n")
    (folder / ".github" / "workflows").mkdir(parents=True)
    (folder / ".github" / "workflows" / "build.yaml").write_text("on: push\n")
    (folder / ".pre-commit-config.yaml").write_text(yaml.safe_dump({"repos": [repo]}))
    git("init", "-q", cwd=folder)
    git("add", ".", cwd=folder)
    git("commit", "-q", "-m", "begin", cwd=folder)
    return folder


def local(tmp_path: Path, *args: str) -> Path:
    """A repository with the hook as it is defined, but for the environment that it runs in."""
    hook = {**HOOK, "language": "unsupported", "args": list(args)}
    (tmp_path / "hens").mkdir()
    return repository(tmp_path / "hens", {"repo": "local", "hooks": [hook]})


def changed(folder: Path, *names: str) -> subprocess.CompletedProcess[str]:
    """What pre-commit says once these files are changed and staged."""
    for name in names:
        with (folder / name).open("a") as file:
            file.write("\n")
    git("add", ".", cwd=folder)
    return run(sys.executable, "-m", "pre_commit", "run", cwd=folder)


def watched(name: str) -> bool:
    return re.search(HOOK["files"], name) is not None


def size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


@pytest.mark.parametrize(
    "name",
    quick(
        ["door/copper-bottom.gbr", "door/board-note.yaml", "mine.yaml"],
        ["door/copper-bottom.gbr", "mine.yaml"],
    ),
)
def test_runs_and_passes_when_a_board_or_a_profile_changes(tmp_path: Path, name: str) -> None:
    folder = local(tmp_path, "door")

    done = changed(folder, name)

    assert RUNS.findall(done.stdout) == ["Passed"], done.stdout + done.stderr
    assert done.returncode == 0


def test_is_skipped_when_nothing_of_a_board_changes(tmp_path: Path) -> None:
    folder = local(tmp_path, "no board at all")

    done = changed(folder, "README.md", ".github/workflows/build.yaml", ".pre-commit-config.yaml")

    assert SKIPPED in done.stdout
    assert done.returncode == 0


def test_a_fault_stops_the_commit_and_is_told_once_however_many_files_changed(
    tmp_path: Path,
) -> None:
    folder = local(tmp_path, "door", "--profile", "flat-0.8")

    done = changed(folder, *(f"door/{path.name}" for path in (folder / "door").glob("*.gbr")))

    told = [line for line in done.stdout.splitlines() if "uncuttable-gap" in line]
    assert RUNS.findall(done.stdout) == ["Failed"]
    assert "- exit code: 1" in done.stdout
    assert len(told) == len(set(told)) == 10
    assert done.returncode == 1


def test_a_hook_without_a_board_says_so_and_fails(tmp_path: Path) -> None:
    folder = local(tmp_path)

    done = changed(folder, "mine.yaml")

    assert "- exit code: 2" in done.stdout
    assert "list them there: boards:" in done.stdout
    assert done.returncode == 1


def test_without_a_board_it_takes_those_of_the_configuration(tmp_path: Path) -> None:
    folder = local(tmp_path)
    (folder / ".cutworthy.yaml").write_text("boards: [door]\nprofiles: [flat-0.8]\n")

    done = changed(folder, ".cutworthy.yaml")

    assert RUNS.findall(done.stdout) == ["Failed"]
    assert "cutworthy: door with flat-0.8: not makeable, 10 errors" in done.stdout


def test_what_a_baseline_knows_stops_no_commit(tmp_path: Path) -> None:
    folder = local(tmp_path)
    (folder / ".cutworthy.yaml").write_text("boards: [door]\nprofiles: [flat-0.8]\n")
    run(sys.executable, "-m", "checker", "baseline", "door", cwd=folder)

    done = changed(folder, "door/copper-bottom.gbr")

    assert RUNS.findall(done.stdout) == ["Passed"], done.stdout + done.stderr


def test_a_baseline_that_shrinks_is_to_be_committed_too(tmp_path: Path) -> None:
    folder = local(tmp_path)
    settings = folder / ".cutworthy.yaml"
    settings.write_text("boards: [door]\nprofiles: [flat-0.8]\n")
    run(sys.executable, "-m", "checker", "baseline", "door", cwd=folder)
    git("add", ".", cwd=folder)
    git("commit", "-q", "-m", "record", cwd=folder)
    copper = folder / "door" / "copper-bottom.gbr"
    copper.write_text(re.sub(r"(%ADD\d\d[RCO],.*)1\.6", r"\g<1>1.3", copper.read_text()))

    done = changed(folder, "door/copper-bottom.gbr")

    assert "files were modified by this hook" in done.stdout
    assert "cutworthy-baseline.json" in git("status", "--short", cwd=folder)


@pytest.mark.parametrize("folder", BOARDS, ids=lambda path: path.name)
def test_every_file_of_a_sample_board_is_watched(folder: Path) -> None:
    files = [path.name for path in folder.iterdir() if path.suffix != ".md"]

    assert [name for name in files if not watched(name)] == []


@pytest.mark.skipif(not OPEN_BOARDS.is_dir(), reason="no shared/boards beside the checkout")
def test_every_file_that_is_read_of_open_boards_is_watched() -> None:
    small = [folder for folder in OPEN_BOARDS.iterdir() if folder.is_dir() and size(folder) < LARGE]
    sources = [source for folder in small for source in read_board([str(folder)]).sources]

    missed = [name for name, role in sources if role != NOT_USED and not watched(name)]

    assert len(sources) > 50
    assert missed == []


def test_the_definition_is_one_that_pre_commit_takes(tmp_path: Path) -> None:
    done = run(sys.executable, "-m", "pre_commit", "validate-manifest", str(HOOKS), cwd=tmp_path)

    assert done.returncode == 0, done.stdout


def test_the_example_of_the_readme_is_one_that_pre_commit_takes(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```yaml\n(repos:.*?)```", readme, re.DOTALL)
    (tmp_path / "config.yaml").write_text(example, encoding="utf-8")

    done = run(sys.executable, "-m", "pre_commit", "validate-config", "config.yaml", cwd=tmp_path)

    assert done.returncode == 0, done.stdout
    assert yaml.safe_load(example)["repos"][0]["hooks"][0]["id"] == HOOK["id"]


def test_installs_from_a_clone_and_guards_a_commit(tmp_path: Path) -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not run from a clone: there is no list of the project's own files")
    source, folder = tmp_path / "cutworthy", tmp_path / "hens"
    for name in git("ls-files", "-z", "-co", "--exclude-standard", cwd=ROOT).split("\0"):
        if name.startswith(("checker/", "rules/", "README", "pyproject", ".pre")):
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, source / name)
    git("init", "-q", cwd=source)
    git("add", ".", cwd=source)
    git("commit", "-q", "-m", "all", cwd=source)
    hook = {"id": "cutworthy", "args": ["door", "-p", "flat-0.8"]}
    rev = git("rev-parse", "HEAD", cwd=source).strip()
    folder.mkdir()
    repository(folder, {"repo": source.as_uri(), "rev": rev, "hooks": [hook]})
    run(sys.executable, "-m", "pre_commit", "install", cwd=folder)
    with (folder / "door" / "copper-bottom.gbr").open("a") as file:
        file.write("\n")

    link([*TO_BUILD, *TO_RUN], tmp_path / "asked")
    without_registry = {
        "PYTHONPATH": str(tmp_path / "asked"),
        "PIP_NO_INDEX": "1",
        "PIP_NO_BUILD_ISOLATION": "0",  # as pip reads it: build with what is there
    }

    done = run("git", "commit", "-a", "-m", "changed", cwd=folder, **without_registry)

    assert RUNS.findall(done.stderr) == ["Failed"], done.stdout + done.stderr
    assert "uncuttable-gap" in done.stderr
    assert done.returncode == 1
    assert git("rev-list", "--count", "HEAD", cwd=folder).strip() == "1"
