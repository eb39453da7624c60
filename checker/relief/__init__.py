"""Relief: copper pulled back just so far that every gap can be cut, where that harms nothing."""

from __future__ import annotations

from checker.relief.model import Options, Relief
from checker.relief.plan import relief_of

__all__ = ["Options", "Relief", "relief_of"]
