"""How much a finding weighs: what profiles set and findings carry."""

from __future__ import annotations

import enum


class Severity(enum.Enum):
    """How much a finding weighs for the exit status; a profile may set it per rule."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"
