"""What the makers of board and process say of nets, and what two nets then ask of each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from checker.board import Unchecked
from checker.electrical import creepage, is_hazardous, spacing, stress
from checker.errors import nearest

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from checker.board import Board, Rating
    from checker.process.model import Process

NONE = Unchecked(
    "voltages and currents",
    "no net has a voltage or a current: a board note or the profile can name them",
)
_SHOWN = 5  # names to tell


class Demand(Struct, frozen=True):
    """What two nets ask of each other.

    Attributes:
        limit: mm between them; 0 where no voltage is between them.
        words: the voltage and the table, such as "325 V peak asks for 4.600 mm (...)".
        hazardous: one of them must not be touched.
    """

    limit: float
    words: str
    hazardous: bool


def ratings_of(board: Board, process: Process) -> tuple[dict[int, Rating], list[Unchecked]]:
    """Net number -> rating, the board's before the profile's; and names that no net bears."""
    said = {**process.ratings, **board.ratings}
    numbers = {
        name: net
        for layer in board.copper
        for name, net in zip(layer.net_name, layer.net.tolist(), strict=True)
        if name
    }
    missing = {name: one.where for name, one in said.items() if name not in numbers}
    known = {numbers[name]: one for name, one in said.items() if name in numbers}
    return known, list(_unknown(missing, numbers)) if said else [NONE]


def _unknown(missing: Mapping[str, str], known: Collection[str]) -> Iterator[Unchecked]:
    """Names that no net of the board bears, with "file:line", told once for each file.

    A file for several boards may name nets that this one lacks, but only its maker can tell that
    from a name that is misspelt.
    """
    files: dict[str, list[str]] = {}
    for name, where in missing.items():
        files.setdefault(where.rpartition(":")[0], []).append(name)
    for file, names in files.items():
        if len(names) == 1:
            advice = nearest(names[0], known)
            near = f"; {advice}" if advice.startswith("did you mean") else ""
            why = f"{missing[names[0]]}: the board has no such net{near}"
            yield Unchecked(f"voltage and current of {names[0]}", why)
        else:
            more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
            what = f"voltages and currents of {', '.join(names[:_SHOWN])}{more}"
            yield Unchecked(what, f"{file}: the board has no such nets")


def wider_of(board: Board, process: Process) -> tuple[tuple[str, float], ...]:
    """Names of nets round which more is cleared than round any other, with that width in mm."""
    said = {**process.ratings, **board.ratings}
    return tuple(sorted((name, one.cleared) for name, one in said.items() if one.cleared))


def demand(one: Rating | None, other: Rating | None, *, pads: bool) -> Demand:
    """The larger of what the tables of spacing and, with a hazardous net, of creepage ask for."""
    peak, effective = stress(one, other)
    if not peak:
        return Demand(0.0, "", hazardous=False)
    limit, table = spacing(peak), "IPC-2221 B2"
    if pads and spacing(peak, leads=True) > limit:
        limit, table = spacing(peak, leads=True), "IPC-2221 A6"
    touched = [is_hazardous(one), is_hazardous(other)]
    if any(touched):
        kind = "basic" if all(touched) else "reinforced"
        creeping = creepage(effective, reinforced=not all(touched))
        if creeping >= limit:
            limit, table = creeping, f"{kind} creepage, IEC 60664-1"
    wave = any(rating is not None and rating.alternating for rating in (one, other))
    volts = f"{peak:.4g} V{' peak' if wave else ''}"
    return Demand(limit, f"{volts} asks for {limit:.3f} mm ({table})", any(touched))


def narrowing(process: Process, *, worst: bool) -> float:
    """How much narrower than drawn a copper-free stretch comes out at the foot of the copper.

    A slanted wall stands in at its foot. At the ``worst`` the cut comes out narrower besides than
    the nominal one for which paths are laid. Foil that is not cut through is another fault.
    """
    if process.cut is None or process.foot is None:
        return 0.0
    least = process.foot.least if worst else 0.0
    return process.cut.nominal - (least or process.foot.nominal or process.cut.nominal)
