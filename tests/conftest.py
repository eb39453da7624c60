"""Settings every test shares."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest
from hypothesis import is_hypothesis_test, settings

from checker.cache.store import VARIABLE

# No test is timed, and a run says the same as the one before.
settings.register_profile("steady", deadline=None, derandomize=True, max_examples=25)
settings.load_profile("steady")

MORE = 20
"""So many times the examples are drawn with `-m long`."""


@pytest.hookimpl(tryfirst=True)  # before tests are left out by their marks
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """With `-m long`, what is drawn at random is drawn too, and many times as often."""
    if "long" not in config.option.markexpr.replace("not long", ""):
        return
    drawing = [
        item
        for item in items
        if isinstance(item, pytest.Function) and is_hypothesis_test(item.function)
    ]
    for item in drawing:
        item.add_marker("long")
    for test in {item.function for item in drawing}:
        few = test._hypothesis_internal_use_settings  # there is no other way to what it was given
        often = settings(few, max_examples=MORE * few.max_examples)
        test._hypothesis_internal_use_settings = often


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
