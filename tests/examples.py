"""How many examples a test draws: a few by default, more with `-m long`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings

Strategies = Any


def few_or(few: int, many: int) -> pytest.MarkDecorator:
    """A test that gets ``examples``, the number that it is to draw."""
    return pytest.mark.parametrize("examples", [few, pytest.param(many, marks=pytest.mark.long)])


def hold(
    claim: Callable[..., None], examples: int, *drawn: Strategies, **named: Strategies
) -> None:
    """The claim holds for so many examples of what the strategies draw."""
    settings(max_examples=examples)(given(*drawn, **named)(claim))()
