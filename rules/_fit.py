"""Words of the rules on files that do not fit each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.measure.whole.fit import fit_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from checker.board import Board
    from checker.measure.whole.fit import Match


def misfits(board: Board, scaled: bool) -> Iterator[tuple[Match, tuple[str, ...]]]:
    """Each misfit of size, or of place and side, once: with all sides that one file misses."""
    moved = [match for match in fit_of(board).matches if match.motion is not None]
    return _once(match for match in moved if match.motion and (match.motion.scale != 1) is scaled)


def guesses(board: Board) -> Iterator[tuple[Match, tuple[str, ...]]]:
    """The same of what few holes suggest, the guess for its motion."""
    guessed = [match for match in fit_of(board).matches if match.guess is not None]
    return _once(replace(match, motion=match.guess) for match in guessed)


def _once(matches: Iterable[Match]) -> Iterator[tuple[Match, tuple[str, ...]]]:
    found: list[tuple[Match, list[str]]] = []
    for match in matches:
        assert match.motion is not None
        for first, sides in found:
            assert first.motion is not None
            if first.what == match.what and first.motion.like(match.motion):
                sides.append(match.on)
                break
        else:
            found.append((match, [match.on]))
    yield from ((match, tuple(sides)) for match, sides in found)


def at_fault(match: Match, sides: tuple[str, ...]) -> str:
    """The file that is off in words; both where two files differ and no third one tells which."""
    if match.what == "holes" and len(sides) == 1:
        return f"the {match.on} or the holes"
    return named(match.what)


def named(what: str) -> str:
    """A file in words."""
    return what if what == "copper" else f"the {what}"


def meeting(match: Match, sides: tuple[str, ...]) -> str:
    """How many holes or pads meet a pad as the files stand."""
    hits, on = round(match.share * match.count), " and ".join(sides)
    if match.what == "edge":
        return f"{hits} of {match.count} islands of copper lie inside the edge"
    if "holes" in (match.what, match.on):
        side = match.what if match.on == "holes" else on
        return f"{hits} of {match.count} holes meet a pad of the {side}"
    return f"{hits} of {match.count} pads of the {match.what} meet their like on the {on}"


def then(match: Match) -> str:
    """How many do after the motion."""
    return str(round(match.explained * match.count))
