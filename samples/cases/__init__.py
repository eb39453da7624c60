"""Boards with one fault each: for every rule a bad one that shows it and a good one without it.

Every module of this package holds the cases of one group of rules in a function ``cases``. All are
judged with the default profile unless a profile lies beside them; a profile within "bad" or "good"
goes before that. Lengths in mm.
"""

from __future__ import annotations

import importlib
import pkgutil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from samples.cases.case import Case


def all_cases() -> dict[str, Case]:
    """Rule -> its case, over all groups."""
    found: dict[str, Case] = {}
    for module in pkgutil.iter_modules(__path__):
        if module.name != "case":
            found |= importlib.import_module(f"{__name__}.{module.name}").cases()
    return dict(sorted(found.items()))
