"""Which process: YAML profile to `Process`."""

from checker.process.describe import ProfileLine, describe_keys, describe_profiles
from checker.process.load import DEFAULT_PROFILE, load_profile, profile_names
from checker.process.model import Bit, Process, Spread

__all__ = [
    "DEFAULT_PROFILE",
    "Bit",
    "Process",
    "ProfileLine",
    "Spread",
    "describe_keys",
    "describe_profiles",
    "load_profile",
    "profile_names",
]
