"""Which process: YAML profile to `Process`."""

from checker.process.bit import Bit, Spread
from checker.process.keys import describe_keys
from checker.process.load import DEFAULT_PROFILE, load_profile, profile_names
from checker.process.model import Process

__all__ = [
    "DEFAULT_PROFILE",
    "Bit",
    "Process",
    "Spread",
    "describe_keys",
    "load_profile",
    "profile_names",
]
