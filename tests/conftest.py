"""Settings every test shares."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest
from hypothesis import settings

from checker.cache.store import VARIABLE

# No test is timed, and a run says the same as the one before.
settings.register_profile("steady", deadline=None, derandomize=True, max_examples=25)
settings.load_profile("steady")


_NUMBERS = count()


@pytest.fixture(scope="session")
def caches(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the caches of all tests lie."""
    return tmp_path_factory.mktemp("caches")


@pytest.fixture(autouse=True)
def nothing_kept(caches: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of its own for every test, made when used: none answers from what another left."""
    folder = caches / str(next(_NUMBERS))
    monkeypatch.setenv(VARIABLE, str(folder))
    return folder
