"""Relief on texts: strokes put into the files, read and judged again, taken back where harmful."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.errors import CheckerError, ReadError
from checker.hearing import get_ready
from checker.read import read_package
from checker.read.package import Package, decode
from checker.relief.gerber import appended, ending_of
from checker.relief.plan import left_alone, relief_of, width_of
from checker.relief.proof import judged, proof_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from checker.board import Board
    from checker.findings import Finding, Report
    from checker.process import Process
    from checker.read.drawn import Drawing
    from checker.relief.gerber import Ending
    from checker.relief.model import Options, Relief
    from checker.relief.proof import Proof

ROUNDS = 8  # of taking back what harms; after the last nothing is left
_GENTLE = 1  # of them, so many in which each fault costs one channel only
_WIDER = 1  # of them, after so many each fault costs all that may have a part in it
_HARSH = 5  # of them, after so many each fault costs its whole layer


class ReliefError(CheckerError):
    """There is nothing that could be relieved."""


class Made(Struct, frozen=True, eq=False):
    """Relief that is proved.

    Attributes:
        relief: what was done.
        files: name -> content of the copper files that change.
        before, after: reports; the same object twice where nothing changes.
        board: as read from the new texts.
        unrelieved: side -> why it was left as it is.
        rounds: how often something was taken back.
        remarks: see `checker.relief.proof.Proof`.
    """

    relief: Relief
    files: Mapping[str, bytes]
    before: Report
    after: Report
    board: Board
    unrelieved: Mapping[str, str]
    rounds: int
    remarks: tuple[Finding, ...] = ()


def make(
    package: Package,
    contents: Mapping[str, bytes],
    layers: Mapping[str, str | Sequence[str]],
    process: Process,
    options: Options | None = None,
    tell: Callable[[str], None] = lambda _: None,
    both: bool = False,
) -> Made:
    """Relieve a board and prove it.

    Args:
        package: the board's texts.
        contents: the bytes of its files, by the same names.
        layers: roles that the user named.
        process: to relieve it for.
        options: what the maker allows.
        tell: told what is being done.
        both: let a second process help where that is worth it, see `checker.hands`.

    Raises:
        ReliefError: the process isolates nothing.
        ReadError: the board can't be read.
    """
    if process.cut is None:
        raise ReliefError(f"relieve with {process.name}", "this process cuts no copper")
    drawn: dict[tuple[str, str], Drawing] = {}
    board = read_package(package, layers, drawn, get_ready if both else None)
    width = width_of(board, process)
    tell(f"Measuring {board.name}")
    facts, before = judged(board, process, width, both)
    endings, unrelieved = _endings(board, contents, width)
    tell("Planning relief")
    relief = relief_of(board, facts, process, options, both)
    rounds = 0
    while relief.channels:
        files = _written(relief, contents, endings)
        tell("Proving it")
        proof = proof_of(before, relief, _read_again(package, files, layers, drawn, both), both)
        if not proof.faults:
            return Made(
                relief,
                files,
                before,
                proof.after,
                proof.facts.board,
                unrelieved,
                rounds,
                proof.remarks,
            )
        relief = without(relief, _blamed(relief, proof, rounds))
        rounds += 1
    return Made(relief, {}, before, before, board, unrelieved, rounds)


def without(relief: Relief, dropped: Mapping[int, str]) -> Relief:
    """Relief less some of its channels; the places they open stay as they are, with the reason."""
    kept = [k for k in range(len(relief.channels)) if k not in dropped]
    number = {k: place for place, k in enumerate(kept)}
    places = tuple(
        place
        if place.channel is None
        else replace(place, channel=number[place.channel])
        if place.channel in number
        else replace(place, channel=None, taken=(), lacking=dropped[place.channel])
        for place in relief.places
    )
    return replace(relief, channels=tuple(relief.channels[k] for k in kept), places=places)


def _blamed(relief: Relief, proof: Proof, rounds: int) -> dict[int, str]:
    """Channels that are given up for the faults of a proof, and why: more with every round."""
    found: dict[int, str] = {}
    for fault in proof.faults:
        why = f"it would bring {fault.words}"
        every = range(len(relief.channels))
        near = sorted(fault.channels or every, key=_worth_of(relief))
        if rounds >= _WIDER:
            near = sorted(fault.channels | fault.around) or near
        if rounds >= ROUNDS:
            near = list(every)
        elif rounds >= _HARSH:
            layers = {relief.channels[k].layer for k in near}
            near = [k for k in every if relief.channels[k].layer in layers]
        elif fault.everywhere:
            near = near[: (len(near) + 1) // 2]
        elif rounds < _GENTLE:
            near = [] if found.keys() & near else near[:1]
        found |= {k: why for k in near if k not in found}
    return found


def _worth_of(relief: Relief) -> Callable[[int], tuple[int, int, int]]:
    """By which channels are given up: those first that open no closed gap, and few gaps."""
    shut = Counter(place.channel for place in relief.opened if place.shut)
    opens = Counter(place.channel for place in relief.opened)
    return lambda k: (shut[k], opens[k], k)


def _endings(
    board: Board, contents: Mapping[str, bytes], width: float
) -> tuple[dict[int, Ending], dict[str, str]]:
    """Layer -> where its file ends; side -> why nothing can be put there."""
    found: dict[int, Ending] = {}
    unrelieved: dict[str, str] = {}
    for index, layer in enumerate(board.copper):
        if layer.side not in ("top", "bottom"):
            continue
        if why := left_alone(layer, width):
            unrelieved[layer.side] = why
            continue
        content = contents[layer.source]
        found[index] = ending_of(content, decode(content).replace("\0", ""))
    return found, unrelieved


def _written(
    relief: Relief, contents: Mapping[str, bytes], endings: Mapping[int, Ending]
) -> dict[str, bytes]:
    files = {}
    for index, ending in endings.items():
        ours = [channel for channel in relief.channels if channel.layer == index]
        if ours:
            name = relief.board.copper[index].source
            files[name] = appended(contents[name], ending, ours, relief.width)
    return files


def _read_again(
    package: Package,
    files: Mapping[str, bytes],
    layers: Mapping[str, str | Sequence[str]],
    drawn: dict[tuple[str, str], Drawing],
    both: bool,
) -> Board:
    """The board as it was written; ``drawn`` spares reading again what files not written draw."""
    texts = tuple(
        replace(file, text=decode(files[file.name])) if file.name in files else file
        for file in package.files
    )
    same = {key: drawing for key, drawing in drawn.items() if key[0] not in files}
    try:
        return read_package(
            replace(package, files=texts), layers, same, get_ready if both else None
        )
    except ReadError as why:
        raise ReliefError(
            why.where,
            f"with relief it can't be read again: {why.found}",
            why.expected,
            "nothing is written: ask less of it, with --most-taken or --only pours",
        ) from None
