"""The wheel in a fresh environment, outside the repository, and beside a stranger called `rules`.

The environment gets what the wheel asks for from a package registry; where none is reached these
tests are skipped and say so.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec import Struct

from checker import __version__

ROOT = Path(__file__).parents[2]
STRANGER = "print('the stranger ran')\n"
PROJECT = """\
[build-system]
requires = ["hatchling"]
build-backend = "hatchling.build"
[project]
name = "stranger"
version = "1"
[tool.hatch.build.targets.wheel]
packages = ["rules"]
"""


class Fresh(Struct, frozen=True):
    """An environment, the wheel that was installed in it, and a folder with a board."""

    scripts: Path
    wheel: Path
    folder: Path

    def run(self, *words: str, python_path: Path | None = None) -> subprocess.CompletedProcess[str]:
        """A program of the environment, in the folder with the board."""
        program = shutil.which(words[0], path=str(self.scripts))
        assert program is not None
        surroundings = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "NO_COLOR")}
        if python_path is not None:
            surroundings["PYTHONPATH"] = str(python_path)
        return subprocess.run(
            [program, *words[1:]], cwd=self.folder, env=surroundings, capture_output=True, text=True
        )

    def pip(self, *words: str) -> None:
        run = self.run("python", "-m", "pip", "-q", *words)
        assert run.returncode == 0, run.stderr

    def install(self, wheel: Path) -> None:
        """Without what it asks for, over what is there."""
        self.pip("install", "--no-index", "--no-deps", "--force-reinstall", str(wheel))


def built(project: Path, into: Path) -> Path:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(into)]
    subprocess.run(command, cwd=project, check=True, capture_output=True)
    (wheel,) = into.glob("*.whl")
    return wheel


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Fresh:
    folder = tmp_path_factory.mktemp("far")
    pip = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(folder / "got")]
    if subprocess.run([*pip, "hatchling"], capture_output=True).returncode:
        pytest.skip("no package registry is reached from here")
    shutil.copytree(ROOT / "samples" / "boards" / "coop-door", folder / "here" / "door")
    subprocess.run([sys.executable, "-m", "venv", str(folder / "environment")], check=True)
    scripts = folder / "environment" / ("Scripts" if os.name == "nt" else "bin")
    made = Fresh(scripts, built(ROOT, folder / "wheel"), folder / "here")
    made.pip("install", str(made.wheel))
    return made


@pytest.fixture
def stranger(fresh: Fresh, tmp_path: Path) -> Iterator[Path]:
    """The wheel of another package called ``rules``; ours is whole again afterwards."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "__init__.py").write_text(STRANGER)
    (tmp_path / "pyproject.toml").write_text(PROJECT)
    yield built(tmp_path, tmp_path / "wheel")
    fresh.run("python", "-m", "pip", "-q", "uninstall", "-y", "stranger")
    fresh.install(fresh.wheel)


def test_nothing_comes_from_the_repository(fresh: Fresh) -> None:
    code = "import checker, rules; print(checker.__file__, rules.__file__)"

    files = fresh.run("python", "-c", code).stdout.split()

    assert len(files) == 2
    assert all(fresh.scripts.parent in Path(file).parents for file in files)


def test_every_command_runs(fresh: Fresh) -> None:
    lines = [
        "--version",
        "compare door -p cone-30-0.1 -p etch",
        "measure door",
        "reach flat-0.4",
        "profiles",
        "profiles laser",
        "explain",
        "explain uncuttable-gap",
        "schema profile",
        "completion bash",
    ]

    runs = {line: fresh.run("cutworthy", *line.split()) for line in lines}

    assert {line: run.stderr for line, run in runs.items() if run.returncode} == {}
    assert runs["--version"].stdout == f"cutworthy {__version__}\n"


@pytest.mark.parametrize(("profile", "status"), [("cone-30-0.1", 0), ("flat-0.8", 1)])
def test_check_judges_a_sample(fresh: Fresh, profile: str, status: int) -> None:
    run = fresh.run("cutworthy", "check", "door", "--profile", profile, "--format", "json")

    assert run.returncode == status, run.stderr
    assert json.loads(run.stdout)["board"]["name"] == "door"


@pytest.mark.parametrize("form", ["text", "html", "svg", "sarif", "gerber"])
def test_check_writes_what_needs_files_of_its_own(fresh: Fresh, form: str) -> None:
    run = fresh.run("cutworthy", "check", "door", "--format", form, "--output", f"out.{form}")

    assert run.returncode == 0, run.stderr
    assert (fresh.folder / f"out.{form}").stat().st_size > 500


def test_a_module_called_rules_in_the_folder_is_left_alone(fresh: Fresh) -> None:
    (fresh.folder / "rules.py").write_text(STRANGER)

    run = fresh.run("cutworthy", "check", "door", "--format", "concise")

    (fresh.folder / "rules.py").unlink()
    assert run.returncode == 0, run.stderr
    assert "stranger" not in run.stdout


def test_a_stranger_that_comes_first_is_refused_and_not_run(fresh: Fresh, stranger: Path) -> None:
    run = fresh.run("cutworthy", "check", "door", python_path=stranger.parents[1])

    assert run.returncode == 2
    assert run.stdout == ""
    assert run.stderr.count("\n") == 1
    assert str(stranger.parents[1] / "rules" / "__init__.py") in run.stderr
    assert "is not a rule package" in run.stderr
    assert "expected a package with RULE_API = 1" in run.stderr


def test_a_stranger_installed_later_is_refused_and_installing_again_mends_it(
    fresh: Fresh, stranger: Path
) -> None:
    fresh.install(stranger)

    broken = fresh.run("cutworthy", "check", "door")
    fresh.install(fresh.wheel)
    mended = fresh.run("cutworthy", "check", "door")

    assert broken.returncode == 2
    assert broken.stdout == ""
    assert "is not a rule package" in broken.stderr
    assert mended.returncode == 0, mended.stderr


def test_a_stranger_that_leaves_takes_a_file_along_and_that_is_told(
    fresh: Fresh, stranger: Path
) -> None:
    fresh.install(stranger)
    fresh.install(fresh.wheel)
    fresh.pip("uninstall", "-y", "stranger")

    run = fresh.run("cutworthy", "check", "door")

    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
    assert "'rules'" in run.stderr
