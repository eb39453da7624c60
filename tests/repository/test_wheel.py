"""The wheel in a fresh environment, outside the repository, and beside a stranger called `rules`.

The environment holds what the wheel asks for, linked from where the tests run, and nothing else.
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
from tests.repository.asked import ROOT, TO_RUN, link

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
EACH = """\
import contextlib, io, json, sys
from checker.cli import main
told = {}
for line in sys.argv[1:]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        told[line] = main(line.split()), err.getvalue()
print(json.dumps(told))
"""


class Fresh(Struct, frozen=True):
    """An environment, the wheel that was installed in it, and a folder with a board."""

    scripts: Path
    packages: Path
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

    def each(self, *lines: str) -> dict[str, list[int | str]]:
        """Exit status and complaints of each command, all in one process of the environment."""
        told: dict[str, list[int | str]] = json.loads(self.run("python", "-c", EACH, *lines).stdout)
        return told

    def pip(self, *words: str) -> None:
        run = self.run("python", "-m", "pip", "-q", *words)
        assert run.returncode == 0, run.stderr

    def install(self, wheel: Path) -> None:
        """Without what it asks for, over what is there."""
        self.pip(
            "install", "--no-index", "--no-deps", "--no-compile", "--force-reinstall", str(wheel)
        )


def built(project: Path, into: Path) -> Path:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(into)]
    subprocess.run(command, cwd=project, check=True, capture_output=True)
    (wheel,) = into.glob("*.whl")
    return wheel


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Fresh:
    folder = tmp_path_factory.mktemp("far")
    shutil.copytree(ROOT / "samples" / "boards" / "coop-door", folder / "here" / "door")
    bare = [sys.executable, "-m", "venv", "--without-pip", str(folder / "environment")]
    subprocess.run(bare, check=True)
    scripts = folder / "environment" / ("Scripts" if os.name == "nt" else "bin")
    asked = [
        str(scripts / "python"),
        "-c",
        "import sysconfig; print(sysconfig.get_path('purelib'))",
    ]
    packages = Path(subprocess.check_output(asked, text=True).strip())
    link(["pip", *TO_RUN], packages)
    made = Fresh(scripts, packages, built(ROOT, folder / "wheel"), folder / "here")
    made.pip("install", "--no-index", str(made.wheel))
    return made


@pytest.fixture(scope="module")
def stranger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of another package called ``rules``, beside the package itself."""
    folder = tmp_path_factory.mktemp("stranger")
    (folder / "rules").mkdir()
    (folder / "rules" / "__init__.py").write_text(STRANGER)
    (folder / "pyproject.toml").write_text(PROJECT)
    return built(folder, folder / "wheel")


@pytest.fixture
def overlaid(fresh: Fresh, stranger: Path, tmp_path: Path) -> Iterator[Fresh]:
    """The environment with the stranger installed over ours; ours is whole again afterwards."""
    kept = shutil.copytree(fresh.packages, tmp_path / "kept", symlinks=True)
    fresh.install(stranger)
    yield fresh
    shutil.rmtree(fresh.packages)
    shutil.copytree(kept, fresh.packages, symlinks=True)


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

    told = fresh.each(*lines)

    assert told == {line: [0, ""] for line in lines}


def test_the_program_is_that_of_the_wheel(fresh: Fresh) -> None:
    run = fresh.run("cutworthy", "--version")

    assert run.stdout == f"cutworthy {__version__}\n"


@pytest.mark.parametrize(("profile", "status"), [("cone-30-0.1", 0), ("flat-0.8", 1)])
def test_check_judges_a_sample(fresh: Fresh, profile: str, status: int) -> None:
    run = fresh.run("cutworthy", "check", "door", "--profile", profile, "--format", "json")

    assert run.returncode == status, run.stderr
    assert json.loads(run.stdout)["board"]["name"] == "door"


def test_check_writes_what_needs_files_of_its_own(fresh: Fresh) -> None:
    forms = ["text", "html", "svg", "sarif", "gerber"]

    told = fresh.each(*(f"check door --format {form} --output out.{form}" for form in forms))

    assert {status for status, _ in told.values()} == {0}, told
    assert min((fresh.folder / f"out.{form}").stat().st_size for form in forms) > 500


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
    overlaid: Fresh,
) -> None:
    broken = overlaid.run("cutworthy", "check", "door")
    overlaid.install(overlaid.wheel)
    mended = overlaid.run("cutworthy", "check", "door")

    assert broken.returncode == 2
    assert broken.stdout == ""
    assert "is not a rule package" in broken.stderr
    assert mended.returncode == 0, mended.stderr


def test_a_stranger_that_leaves_takes_a_file_along_and_that_is_told(overlaid: Fresh) -> None:
    overlaid.install(overlaid.wheel)
    overlaid.pip("uninstall", "-y", "stranger")

    run = overlaid.run("cutworthy", "check", "door")

    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
    assert "'rules'" in run.stderr
