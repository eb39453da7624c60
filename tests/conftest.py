"""Settings every test shares."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

from checker.cache.store import VARIABLE

# No test is timed, and a run says the same as the one before.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def nothing_kept(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of its own for every test: none answers from what another left."""
    folder = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv(VARIABLE, str(folder))
    return folder
