"""Which of many places are alike: by pattern and by size, and which of them is the worst."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.causes import DIGITS, TINY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Floats, Ints

_ALIKE = 0.01  # sizes within this (mm) are one setting: grids and rounding of layouts are coarser
_NOUGHT = "0.00 mm"
_CROWD = 5  # so many places of one size are a setting, not chance
_SHARE = 0.2  # and at least this part of all places
_MOST_SETTINGS = 2


def worst_rows(measured: Floats, limit: float, level: Ints, at: Floats) -> Ints:
    """Of places of one cause and state the worst as `causes` has it, and those at its spot.

    Args:
        measured: (n,) mm.
        limit: mm.
        level: (n,) as of `checker.causes.levels_of`.
        at: (n, 2) where.
    """
    largest = np.maximum(np.maximum(np.abs(measured), abs(limit)), TINY)
    near = -np.abs(limit - measured) / largest  # as `shortfall` says it, to the bit
    x, y = np.round(at, DIGITS).T
    keys = np.column_stack([near, level, y, x])
    first = keys[np.lexsort(keys.T[::-1])[0]]
    return np.flatnonzero((keys == first).all(axis=1))


def alike(patterns: Ints, sizes: Floats) -> Iterator[tuple[int, Ints]]:
    """Rows that share a pattern and a class of size, as (pattern, rows), patterns ascending."""
    for pattern in np.unique(patterns).tolist():
        rows = np.flatnonzero(patterns == pattern)
        classes = size_classes(sizes[rows])
        for number in range(int(classes.max()) + 1):
            yield pattern, rows[classes == number]


def size_classes(sizes: Floats) -> Ints:
    """(n,) lengths -> (n,) class numbers: one per size that recurs as a setting does, then a rest.

    A clearance that was typed into a layout program shows as a crowd of places of one size; what
    was drawn by hand is spread out and makes one class together.
    """
    order = np.argsort(sizes, kind="stable")
    ascending = sizes[order]
    classes = np.full(len(sizes), -1)
    free = np.ones(len(sizes), dtype=bool)
    for number in range(_MOST_SETTINGS):
        left = ascending[free]
        if not len(left) or left[-1] - left[0] <= _ALIKE:
            break
        held = np.searchsorted(left, left + _ALIKE, side="right") - np.arange(len(left))
        fullest = int(np.argmax(held))
        if held[fullest] < max(_CROWD, _SHARE * len(sizes)):
            break
        taken = np.flatnonzero(free)[fullest : fullest + held[fullest]]
        classes[order[taken]] = number
        free[taken] = False
    _, compact = np.unique(np.where(classes < 0, _MOST_SETTINGS, classes), return_inverse=True)
    return compact.astype(np.int64)


def spoken(sizes: Floats) -> str:
    """Sizes in words: "0.20 mm" where they are alike, else "0.11 to 0.24 mm" or "up to 0.24 mm".

    No size is told as nought, which nothing is that was found.
    """
    if sizes.max() - sizes.min() <= _ALIKE:
        size = f"{np.median(sizes):.2f} mm"
        return "less than 0.01 mm" if size == _NOUGHT else size
    least, most = f"{sizes.min():.2f}", f"{sizes.max():.2f} mm"
    return f"up to {most}" if f"{least} mm" == _NOUGHT else f"{least} to {most}"
