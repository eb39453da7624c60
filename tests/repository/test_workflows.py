"""The workflow of this repository and the one that README shows: valid, least rights, runnable."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).parents[2]
OWN = (ROOT / ".github" / "workflows" / "tests.yml").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = next(b for b in re.findall(r"```yaml\n(.*?)```", README, re.DOTALL) if "jobs:" in b)
WORKFLOWS = {"tests": OWN, "readme": SHOWN}


def jobs(text: str) -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load(text)["jobs"]
    return found


def steps(text: str) -> list[dict[str, Any]]:
    return [step for job in jobs(text).values() for step in job["steps"]]


@pytest.mark.parametrize("text", WORKFLOWS.values(), ids=WORKFLOWS)
def test_fits_the_published_schema_of_workflows(tmp_path: Path, text: str) -> None:
    (tmp_path / "workflow.yml").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "check_jsonschema", "--builtin-schema"]

    run = subprocess.run(
        [*command, "vendor.github-workflows", "workflow.yml"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )

    assert run.returncode == 0, run.stdout


@pytest.mark.parametrize("text", WORKFLOWS.values(), ids=WORKFLOWS)
def test_says_its_rights_its_time_and_the_version_of_all_it_uses(text: str) -> None:
    used = [step["uses"] for step in steps(text) if "uses" in step]

    assert yaml.safe_load(text)["permissions"]["contents"] == "read"
    assert all(job["timeout-minutes"] <= 60 for job in jobs(text).values())
    assert [name for name in used if not re.fullmatch(r"[\w./-]+@v\d+", name)] == []


@pytest.mark.parametrize("text", WORKFLOWS.values(), ids=WORKFLOWS)
def test_expressions_name_what_is_there(text: str) -> None:
    known = {"github.ref", "!cancelled()"}
    known |= {
        f"matrix.{axis}"
        for job in jobs(text).values()
        for axis in job.get("strategy", {}).get("matrix", {})
    }

    assert set(re.findall(r"\$\{\{\s*(.*?)\s*\}\}", text)) <= known


def test_own_workflow_runs_what_a_developer_runs() -> None:
    ran = [step["run"] for step in steps(OWN) if "run" in step]

    assert ran == ["bash .ci/run"]
    assert (ROOT / ".ci" / "run").is_file()
    assert 'requires-python = ">=3.11"' in (ROOT / "pyproject.toml").read_text()
    assert jobs(OWN)["tests"]["strategy"]["matrix"]["python"][0] == "3.11"


@pytest.mark.parametrize(("profile", "status"), [("cone-30-0.1", 0), ("flat-0.8", 1)])
def test_shown_workflow_writes_what_it_uploads(tmp_path: Path, profile: str, status: int) -> None:
    shutil.copytree(ROOT / "samples" / "boards" / "coop-door", tmp_path / "hardware" / "door")
    (command,) = [step["run"] for step in steps(SHOWN) if "cutworthy check" in step.get("run", "")]
    (upload,) = [step["with"] for step in steps(SHOWN) if "sarif" in step.get("uses", "")]
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])

    run = subprocess.run(
        ["bash", "-e", "-c", f"{command} --profile {profile}"],
        cwd=tmp_path,
        env={**os.environ, "PATH": path},
        capture_output=True,
    )

    log = json.loads((tmp_path / upload["sarif_file"]).read_text(encoding="utf-8"))
    results = log["runs"][0]["results"]
    files = {
        place["physicalLocation"]["artifactLocation"]["uri"]
        for result in results
        for place in result["locations"]
    }
    assert run.returncode == status
    assert ("error" in {result["level"] for result in results}) == (status == 1)
    assert [name for name in files if not (tmp_path / name).is_file()] == []
