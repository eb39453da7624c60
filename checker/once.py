"""Rules asked once for all processes that are alike in what they look at.

The processes of one shop differ in their bit, at which most rules never look.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Generic, TypeVar, cast

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.findings import Rule
    from checker.measure import Facts
    from checker.process.model import Process

_T = TypeVar("_T")


class Once(Generic[_T]):
    """What rules say, worked out where no answer is known for a process that looks the same."""

    def __init__(self, say: Callable[[Rule, Facts, Process], _T]) -> None:
        """``say`` is what a rule says of facts; of a process it may look at attributes alone."""
        self._say = say
        self._known: dict[tuple[str, Facts], list[tuple[dict[str, Any], _T]]] = {}

    def __call__(self, rule: Rule, facts: Facts, process: Process) -> _T:
        """What the rule says of these facts by this process."""
        known = self._known.setdefault((rule.name, facts), [])
        for looked, said in known:
            if all(getattr(process, name) == value for name, value in looked.items()):
                return said
        watched = _Watched(process)
        said = self._say(rule, facts, cast("Process", watched))
        known.append((watched.looked, said))
        return said


class _Watched:
    """Stands for a process, and notes what of it is looked at: attribute -> value."""

    def __init__(self, process: Process) -> None:
        self._process = process
        self.looked: dict[str, Any] = {}

    def __getattr__(self, name: str) -> Any:
        self.looked[name] = value = getattr(self._process, name)
        return value
