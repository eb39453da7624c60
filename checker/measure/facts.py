"""Facts: what was measured on a board, whatever the process. Lengths in mm."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints

    _T = TypeVar("_T")
    Measured = tuple[_T, ...] | Callable[[], tuple[_T, ...]]


class Reach(Struct, frozen=True):
    """How far facts are wanted, in mm; 0 switches a census off.

    Attributes:
        cut: gaps whose widest cut is below this, for each of ``bites``.
        copper: copper narrower than this.
        bites: how far a path may run into drawn copper.
        widest: the widest cut that any process in play makes, where more than these facts are
            measured for; what is best measured once for all of them looks that far.
    """

    cut: float = 0.5
    copper: float = 0.5
    bites: tuple[float, ...] = (0.0,)
    widest: float = 0.0


class Gaps(Struct, frozen=True, eq=False):
    """Every place of one side where two islands come nearer than the reach; columns of length n.

    Attributes:
        islands: (n, 2) indices into the layer's islands, the first below the second.
        a, b: (n, 2) points that face each other there, on the first and on the second island.
        distance: (n,) the least distance of the two islands at the place, mm.
        widest_cut: bite in mm -> (n,) widest cut that still separates the two islands here when
            the path may bite that far into copper; inf where it is beyond the reach.
        object_a, object_b: (n,) index into the layer's objects of what stands at a and at b, -1
            unknown.
        part: (m, 2, 2) stretches halfway between two islands along which they are about as near,
            from end to end.
        part_of: (m,) the place that each belongs to.
        reach: the widest cut looked for.
        error: bound in mm on the error of ``widest_cut``.
    """

    islands: Ints
    a: Floats
    b: Floats
    distance: Floats
    widest_cut: Mapping[float, Floats]
    object_a: Ints
    object_b: Ints
    part: Floats
    part_of: Ints
    reach: float
    error: float

    def __len__(self) -> int:
        return len(self.distance)


class Necks(Struct, frozen=True, eq=False):
    """Every place of one side where copper is narrower than the reach; columns of length n.

    Attributes:
        island: (n,) index into the layer's islands.
        at: (n, 2) middle of the narrowest chord.
        width: (n,) its length.
        length: (n,) how far the copper stays about that narrow.
        carries: (n,) bool, wide copper at both ends: the neck joins two parts of its net.
        object: (n,) index into the layer's objects, -1 unknown.
        reach: the widest neck looked for.
        error: bound in mm on the error of ``width``.
    """

    island: Ints
    at: Floats
    width: Floats
    length: Floats
    carries: NDArray[np.bool_]
    object: Ints
    reach: float
    error: float

    def __len__(self) -> int:
        return len(self.width)

    @classmethod
    def none(cls) -> Necks:
        """The census that was not asked for."""
        whole, real = np.zeros(0, dtype=np.int64), np.zeros(0)
        flags = np.zeros(0, dtype=bool)
        return cls(whole, np.zeros((0, 2)), real, real, flags, whole, reach=0.0, error=0.0)


class Facts:
    """All that was measured: ``gaps[i]`` and ``necks[i]`` belong to ``board.copper[i]``."""

    def __init__(
        self,
        board: Board,
        reach: Reach,
        gaps: Measured[Gaps],
        necks: Measured[Necks],
    ) -> None:
        """Of a board as far as ``reach``; a census is its facts, or measures them when asked."""
        self.board: Final = board
        self.reach: Final = reach
        self._gaps = gaps
        self._necks = necks

    @cached_property
    def gaps(self) -> tuple[Gaps, ...]:
        """Of each layer."""
        return self._gaps() if callable(self._gaps) else self._gaps

    @cached_property
    def necks(self) -> tuple[Necks, ...]:
        """Of each layer."""
        return self._necks() if callable(self._necks) else self._necks

    def take(
        self, gaps: Measured[Gaps] | None = None, necks: Measured[Necks] | None = None
    ) -> None:
        """Take a census over from who measures it, only where it is not made yet."""
        self._gaps = self._gaps if gaps is None else gaps
        self._necks = self._necks if necks is None else necks
