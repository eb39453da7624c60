"""Packages by name, told from strangers that merely bear it."""

from __future__ import annotations

import ast
import importlib
import importlib.util
from typing import TYPE_CHECKING

from checker.errors import RulePackageError

if TYPE_CHECKING:
    from importlib.machinery import ModuleSpec
    from types import ModuleType

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
        return imported(name)
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


def imported(name: str) -> ModuleType:
    """Import a module of a rule package, whatever is wrong with it told in a line."""
    try:
        return importlib.import_module(name)
    except Exception as fault:  # whatever a rule package raises, its writer is to hear of it
        raise RulePackageError(
            name, f"cannot be imported: {type(fault).__name__}: {fault}"
        ) from fault
