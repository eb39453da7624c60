"""Find rules in named packages; the built-in package is called ``rules``."""

from __future__ import annotations

import importlib.util
import pkgutil
from functools import cache
from typing import TYPE_CHECKING

from checker.errors import RulePackageError
from checker.findings import Rule
from checker.packages import imported, rule_package

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from types import ModuleType

BUILTIN = ("rules",)


def iter_modules(package: ModuleType) -> Iterator[ModuleType]:
    """Import every public module directly inside a rule package, in name order."""
    for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
        if not info.ispkg and not info.name.rpartition(".")[2].startswith("_"):
            yield imported(info.name)


def load_rules(packages: Iterable[str] = BUILTIN) -> dict[str, Rule]:
    """The rules of the given packages by name, packages in the order given.

    Raises:
        RulePackageError: a package is missing, a stranger or broken, or a name comes twice.
    """
    asked = tuple(packages)
    return dict(_builtin()) if asked == BUILTIN else _load(asked)


@cache
def _builtin() -> dict[str, Rule]:
    """The built-in rules, which are looked for once."""
    return _load(BUILTIN)


def _load(packages: Iterable[str]) -> dict[str, Rule]:
    found: dict[str, Rule] = {}
    home: dict[str, str] = {}
    for package in dict.fromkeys(packages):
        for module in iter_modules(rule_package(package)):
            for value in vars(module).values():
                if not isinstance(value, Rule) or found.get(value.name) is value:
                    continue
                if value.name in found:
                    raise RulePackageError(
                        module.__name__,
                        f"rule {value.name!r} is defined twice",
                        advice=f"the other one is in {home[value.name]}",
                    )
                found[value.name], home[value.name] = value, module.__name__
    return found


@cache
def rule_names(package: str = BUILTIN[0]) -> tuple[str, ...]:
    """The names of a package's rules, by its modules' names, none of which is run."""
    spec = importlib.util.find_spec(package)
    places = list(spec.submodule_search_locations or ()) if spec else []
    names = (info.name for info in pkgutil.iter_modules(places) if not info.ispkg)
    return tuple(sorted(name.replace("_", "-") for name in names if not name.startswith("_")))
