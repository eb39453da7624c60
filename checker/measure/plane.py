"""Sums and comparisons over the two coordinates of many points.

Column by column: reduced along so short an axis an array takes ten times as long.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints

_N = TypeVar("_N", "Floats", "Ints")


def dot(a: Floats, b: Floats) -> Floats:
    """The inner products of vectors (..., 2) with others."""
    product: Floats = a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]
    return product


def either(pairs: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether one of two, or both, of (..., 2)."""
    found: NDArray[np.bool_] = pairs[..., 0] | pairs[..., 1]
    return found


def lesser(pairs: _N) -> _N:
    """The lesser of two, of (..., 2)."""
    found: _N = np.minimum(pairs[..., 0], pairs[..., 1])
    return found


def larger(pairs: _N) -> _N:
    """The larger of two, of (..., 2)."""
    found: _N = np.maximum(pairs[..., 0], pairs[..., 1])
    return found
