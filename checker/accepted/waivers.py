"""Which findings a waiver means, and what to tell of waivers that mean none."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from checker.remarks import Note

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from checker.accepted.waiver import Waiver
    from checker.findings import Finding, Observation, Report

_EXACT = 1e-6  # mm; places in decimals are no round binary fractions
UNUSED = "fits nothing found in this run; remove it, or name its board"
UNPLACED = (
    "names neither nets, pins nor a place, so it means only findings of the whole board, and this "
    "run has none; say nets: [GND, 12V], pins: [U1.2] or at: [12.3, 40.1]"
)
COVERED = "fits only what other waivers fit; remove one of them"


def fits(waiver: Waiver, finding: Finding, today: date) -> bool:
    """Whether a waiver means a finding.

    All that it names must be so. One that names neither nets, pins nor a place means only what is
    of the whole board; one that has expired means nothing.
    """
    return not expired(waiver, today) and _means(waiver, finding)


def expired(waiver: Waiver, today: date) -> bool:
    """Whether the last day of a waiver is over."""
    return waiver.until is not None and today > waiver.until


def _means(waiver: Waiver, finding: Finding) -> bool:
    seen = finding.seen
    return (
        waiver.rule == finding.rule
        and (waiver.side is None or _joined_up(waiver.side) == _joined_up(seen.side or ""))
        and set(waiver.nets) <= set(seen.nets)
        and set(waiver.pins) <= set(seen.pins)
        and _is_there(waiver, seen)
    )


def _joined_up(side: str) -> str:
    """Inner sides are written with a space and without."""
    return side.replace(" ", "")


def _is_there(waiver: Waiver, seen: Observation) -> bool:
    if waiver.at is None:
        return _named(waiver) or seen.x is None
    if seen.x is None or seen.y is None:
        return False
    return hypot(seen.x - waiver.at[0], seen.y - waiver.at[1]) <= waiver.within + _EXACT


def _named(waiver: Waiver) -> bool:
    """Whether it names anything that a finding of one place has."""
    return bool(waiver.nets or waiver.pins or waiver.at)


class Waivers:
    """The waivers of a board on a day. Of several that fit a finding the first has it."""

    def __init__(self, waivers: Sequence[Waiver], today: date) -> None:
        self._all, self._today = waivers, today
        self._of: dict[str, list[Waiver]] = {}
        self._used: set[Waiver] = set()
        for waiver in waivers:
            if not expired(waiver, today):
                self._of.setdefault(waiver.rule, []).append(waiver)

    def of(self, finding: Finding) -> Waiver | None:
        """The waiver that has a finding."""
        found = next((one for one in self._of.get(finding.rule, ()) if _means(one, finding)), None)
        if found is not None:
            self._used.add(found)
        return found

    def stale(self, reports: Sequence[Report]) -> Iterator[Note]:
        """What to tell of those that have none, once all findings were asked for.

        Of a waiver whose rule no report asked nothing is known.
        """
        asked = {rule for report in reports for rule in report.asked}
        for waiver in self._all:
            if expired(waiver, self._today):
                yield _note(waiver, f"expired on {waiver.until}; its findings count again")
            elif waiver not in self._used and waiver.rule in asked:
                every = (found for report in reports for found in report.findings)
                covered = any(_means(waiver, found) for found in every)
                yield _note(waiver, COVERED if covered else UNUSED if _named(waiver) else UNPLACED)


def _note(waiver: Waiver, text: str) -> Note:
    file, _, line = waiver.where.rpartition(":")
    told = f"the waiver of {waiver.rule} {text}"
    return Note(file, int(line), told) if file and line.isdecimal() else Note(waiver.where, 0, told)
