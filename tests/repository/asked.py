"""What a distribution asks for, taken from where the tests run instead of from a registry."""

from __future__ import annotations

import tomllib
from importlib.metadata import distribution
from pathlib import Path
from typing import TYPE_CHECKING, Any

from packaging.requirements import Requirement

if TYPE_CHECKING:
    from collections.abc import Iterable

ROOT = Path(__file__).parents[2]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
TO_RUN: list[str] = PROJECT["project"]["dependencies"]
TO_BUILD: list[str] = PROJECT["build-system"]["requires"]


def link(asked: Iterable[str], into: Path) -> None:
    """Links to the distributions of these requirements and of all that they ask for in turn.

    Nothing else that is installed can be imported from the folder, and pip counts what is there as
    installed, so it still refuses a version that is not enough.
    """
    into.mkdir(parents=True, exist_ok=True)
    waiting, seen = [Requirement(line) for line in asked], set[str]()
    while waiting:
        wanted = waiting.pop()
        if wanted.name in seen or (wanted.marker and not wanted.marker.evaluate({"extra": ""})):
            continue
        seen.add(wanted.name)
        found = distribution(wanted.name)
        waiting += [Requirement(line) for line in found.requires or ()]
        for top in {path.parts[0] for path in found.files or ()} - {"..", "__pycache__"}:
            if not (into / top).exists():
                (into / top).symlink_to(Path(str(found.locate_file(top))))
