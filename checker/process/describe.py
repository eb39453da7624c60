"""The built-in profiles, and the keys of a profile, in a form to print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from checker.process.keys import KEYS
from checker.process.load import load_profile, profile_names

if TYPE_CHECKING:
    from checker.process.model import Spread


@dataclass(frozen=True, slots=True)
class ProfileLine:
    """One built-in profile; ``cut`` as in `Process`."""

    name: str
    title: str
    method: str
    cut: Spread | None


def describe_profiles() -> tuple[ProfileLine, ...]:
    """The built-in profiles in the order of their names."""
    loaded = map(load_profile, profile_names())
    return tuple(ProfileLine(p.name, p.title, p.method, p.cut) for p in loaded)


def describe_keys() -> tuple[tuple[str, str, str], ...]:
    """Every key of a profile: its path, what it means, what its value should be."""
    return tuple((key.name, key.meaning, key.expected) for key in KEYS.values())
