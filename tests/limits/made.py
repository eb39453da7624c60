"""The limits of built-in processes, asked once for all tests."""

from __future__ import annotations

from functools import cache

from checker.limits import Limits, limits_of
from checker.process import load_profile
from tests.handmade import PLAIN, RULES


@cache
def built_in(name: str) -> Limits:
    """Of a profile by its name."""
    return limits_of(load_profile(name), RULES)


@cache
def plain() -> Limits:
    """Of a process that sets hardly anything, and no spread."""
    return limits_of(PLAIN, RULES)
