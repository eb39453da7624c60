"""A repository in a folder of its own, which is the working folder."""

from pathlib import Path

import pytest


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Its folder, with links resolved."""
    folder = tmp_path.resolve() / "repo"
    (folder / ".git").mkdir(parents=True)
    monkeypatch.chdir(folder)
    return folder
