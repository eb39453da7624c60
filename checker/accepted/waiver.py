"""A waiver: a maker's word that findings of a kind will do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

WITHIN = 1.0  # mm round the place that a waiver names, where it does not say how far


class Waiver(Struct, frozen=True):
    """What a maker says will do, and why.

    Attributes:
        rule: whose findings.
        reason: why they will do; never empty.
        where: "file:line" that says so.
        folder: of the file that says so; ``board`` starts from it.
        board: pattern of the boards that are meant, below the folder; None for all of them.
        side: "top", "bottom", "inner1"; None for any.
        nets, pins: names that a finding must have among its own; pins as "U1.3".
        at: place in mm, in the coordinates of the files; None for any.
        within: how far from it in mm a finding may lie.
        until: the last day on which it holds; None for ever.
    """

    rule: str
    reason: str
    where: str
    folder: Path
    board: str | None = None
    side: str | None = None
    nets: tuple[str, ...] = ()
    pins: tuple[str, ...] = ()
    at: tuple[float, float] | None = None
    within: float = WITHIN
    until: date | None = None
