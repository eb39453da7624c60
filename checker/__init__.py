"""Tells whether a board can be isolation-milled at home, and if not, where, why and what to change.

The names in ``__all__`` are the public interface; everything else may change. They are imported
when first used, so that ``cutworthy --version`` does not wait for the geometry libraries.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.board import Board
    from checker.comparison import Comparison, compare
    from checker.engine import check
    from checker.errors import CheckerError
    from checker.findings import Finding, Report, State, Verdict
    from checker.many import Answer, check_many
    from checker.measure import Facts, Reach, measure
    from checker.process import load_profile
    from checker.process.model import Process
    from checker.read import read_board
    from checker.severity import Severity

    __version__: str

__all__ = [
    "Answer",
    "Board",
    "CheckerError",
    "Comparison",
    "Facts",
    "Finding",
    "Process",
    "Reach",
    "Report",
    "Severity",
    "State",
    "Verdict",
    "check",
    "check_many",
    "compare",
    "load_profile",
    "measure",
    "read_board",
]

_HOME = {
    "Answer": "checker.many",
    "Board": "checker.board",
    "CheckerError": "checker.errors",
    "Comparison": "checker.comparison",
    "Facts": "checker.measure",
    "Finding": "checker.findings",
    "Process": "checker.process.model",
    "Reach": "checker.measure",
    "Report": "checker.findings",
    "Severity": "checker.severity",
    "State": "checker.findings",
    "Verdict": "checker.findings",
    "check": "checker.engine",
    "check_many": "checker.many",
    "compare": "checker.comparison",
    "load_profile": "checker.process",
    "measure": "checker.measure",
    "read_board": "checker.read",
}


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import version

        return version("cutworthy")
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__, "__version__"})


class _Package(ModuleType):
    """Keeps the function `measure` in view where an import would bind the subpackage."""

    def __setattr__(self, name: str, value: object) -> None:
        if not (name in _HOME and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
