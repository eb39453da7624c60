"""What is tried by default, and what is tried with `-m long` alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

import pytest


def seeds(few: int, many: int) -> list[Any]:
    """The first few by default, all of them with `-m long`."""
    return quick(range(many), range(few))


def quick(every: Iterable[Any], few: Collection[Any]) -> list[Any]:
    """Every value as a parameter: the few by default, the others with `-m long`."""
    return [
        pytest.param(
            *(one if isinstance(one, tuple) else (one,)),
            marks=[pytest.mark.long] * (one not in few),
        )
        for one in every
    ]
