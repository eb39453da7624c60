"""Find rules in named packages; the built-in package is called ``rules``."""

from __future__ import annotations

import ast
import importlib
import importlib.util
import pkgutil
from functools import cache
from typing import TYPE_CHECKING

from checker.errors import RulePackageError
from checker.findings import Rule

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from importlib.machinery import ModuleSpec
    from types import ModuleType

BUILTIN = ("rules",)
RULE_API = 1


def rule_package(name: str) -> ModuleType:
    """Import one rule package, refusing a stranger that merely has its name without running it."""
    try:
        spec = importlib.util.find_spec(name)
    except (ImportError, ValueError):
        spec = None
    if spec is None:
        raise RulePackageError(
            f"rule package {name!r}", "is not installed", advice="install it or mend the name"
        )
    declared = _declared_api(spec)
    if declared == RULE_API and spec.submodule_search_locations is not None:
        return _import(name)
    raise RulePackageError(
        f"rule package {name!r}",
        f"{spec.origin or list(spec.submodule_search_locations or ())} is not a rule package for "
        "this version" + ("" if declared is None else f": its RULE_API is {declared}"),
        f"a package with RULE_API = {RULE_API}",
        "another of that name comes first on sys.path, or was installed over it: an environment "
        "of its own, as pipx or uv tool make it, has none",
    )


def _declared_api(spec: ModuleSpec) -> int | None:
    """The whole number a module assigns to ``RULE_API``, read from its source, not by running it.

    The name ``rules`` is common, and what else bears it must not start just because we looked.
    """
    source = getattr(spec.loader, "get_source", lambda _: None)(spec.name)
    try:
        body = ast.parse(source or "").body
    except (SyntaxError, ValueError):
        return None
    for statement in body:
        match statement:
            case ast.Assign(
                targets=[ast.Name(id="RULE_API")], value=ast.Constant(value=int(declared))
            ):
                return declared
            case ast.AnnAssign(
                target=ast.Name(id="RULE_API"), value=ast.Constant(value=int(declared))
            ):
                return declared
    return None


def iter_modules(package: ModuleType) -> Iterator[ModuleType]:
    """Import every public module directly inside a rule package, in name order."""
    for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
        if not info.ispkg and not info.name.rpartition(".")[2].startswith("_"):
            yield _import(info.name)


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


def _import(name: str) -> ModuleType:
    try:
        return importlib.import_module(name)
    except Exception as fault:  # whatever a rule package raises, its writer is to hear of it
        raise RulePackageError(
            name, f"cannot be imported: {type(fault).__name__}: {fault}"
        ) from fault
