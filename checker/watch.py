"""Checking again whenever a layout editor has written files anew."""

from __future__ import annotations

import time
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from checker.changes import Key, changes_of, key_of
from checker.config import NAME, boards_named, config_of
from checker.config.above import folder_of
from checker.console import FAILED, fail, say
from checker.errors import CheckerError, UsageError
from checker.process.nodes import read_nodes
from checker.read.boards import boards_of
from checker.read.package import MAX_ENTRIES, walk

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Sequence

    from checker.changes import Change
    from checker.findings import Report

POLL = 0.5  # s between two looks
STILL = 1.0  # s without a change: an editor writes a board's files one after the other
LONGEST = 10.0  # s of waiting for that; a file that never rests is no reason never to check
_IDLE = 9  # times as long as a look takes nothing is done after it, however slow the disk is
WAITING = "waiting for changes; Ctrl-C ends"

Entry = tuple[str, int, int, int]
Signature = tuple[Entry, ...]


def watch(
    run: Callable[[Callable[[Sequence[Report]], None]], int],
    changed: Iterable[None],
    show: Callable[[Sequence[Change]], None],
) -> int:
    """Check a board, and again at every change, until the user interrupts.

    A fault is told in a line, as a file may be half written; the next change mends it.

    Args:
        run: checks once and prints. It hands its reports to what it is given before it prints
            them, and returns the exit status.
        changed: when to check, the first time too; see `changes`.
        show: prints what has changed since the reports before.

    Returns:
        The exit status of the last check.

    Raises:
        UsageError: by the first check: what the command line asks for no file will mend.
    """
    known: dict[Key, Report] | None = None

    def told(reports: Sequence[Report]) -> None:
        nonlocal known
        if known is not None:
            show(changes_of(known.values(), reports))
        # A board that could not be read this time is compared with what it was before.
        known = {**(known or {}), **{key_of(report): report for report in reports}}

    status = FAILED
    first = True
    try:
        for _ in changed:
            try:
                status = run(told)
            except CheckerError as fault:
                if first and isinstance(fault, UsageError):
                    raise
                status = fail(str(fault))
            first = False
            say(WAITING)
    except KeyboardInterrupt:
        pass
    return status


def changes(
    paths: Callable[[], Iterable[Path]],
    *,
    without: Collection[Path] = (),
    poll: float = POLL,
    still: float = STILL,
    longest: float = LONGEST,
    clock: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> Iterator[None]:
    """Yield at once, and then whenever files have changed and been left alone for a while.

    What changes while the consumer is at work counts.

    Args:
        paths: tells what to watch, as `signature` takes it; asked before each yield.
        without: files that the consumer writes itself.
        poll: s between two looks at least.
        still: s that nothing may have changed before a change counts as over.
        longest: s after which it counts all the same.
        clock: tells seconds.
        sleep: waits for so many.
    """

    def look(after: float) -> Signature:
        sleep(after)
        return signature(listed, without)

    while True:
        listed = tuple(paths())
        begin = clock()
        known = signature(listed, without)
        rest = max(poll, _IDLE * (clock() - begin))
        yield
        while True:
            now = look(rest)
            if now == known:
                continue
            begin = since = clock()
            while clock() - since < still and clock() - begin < longest:
                later = look(rest)
                if later != now:
                    now, since = later, clock()
            if now != known:  # a folder may be back as it was
                break


def signature(paths: Iterable[Path], without: Collection[Path] = ()) -> Signature:
    """What changes when a file does: name, size, time of writing and number of each.

    Args:
        paths: files, and folders, of which all files are meant that a reader looks at; what is not
            there is part of it too.
        without: files to be left out.
    """
    left_out = {str(path.resolve()) for path in without}
    entries = [entry for path in paths for entry in _entries(path)]
    return tuple(e for e in entries if not left_out or str(Path(e[0]).resolve()) not in left_out)


def _entries(path: Path) -> Iterator[Entry]:
    try:
        if not path.is_dir():
            yield _entry(path)
            return
        for file in islice(walk(path, lambda *_: None), MAX_ENTRIES + 1):
            yield _entry(file)
    except (CheckerError, OSError, ValueError) as fault:  # it went while it was looked at
        yield str(fault), -1, -1, -1


def _entry(path: Path) -> Entry:
    try:
        seen = path.stat()
    except (OSError, ValueError):  # not there, or a name that can't be
        return str(path), -1, -1, -1
    return str(path), seen.st_size, seen.st_mtime_ns, seen.st_ino


def watched(named: Sequence[str], profiles: Sequence[str | Path]) -> list[Path]:
    """What a check depends on: boards, profiles, and configurations where there might be any.

    Whatever cannot be told while a file is at fault is left out till it is mended.

    Args:
        named: boards as the command line names them; none for those that a configuration names.
        profiles: what `checker.process.load_profile` takes; none for those of configurations.
    """
    boards = _boards(named)
    folders = dict.fromkeys(map(folder_of, boards or [()]))
    above = (place / NAME for folder in folders for place in (folder, *folder.parents))
    asked = profiles or [profile for board in boards for profile in _profiles(board)]
    bases = (file for profile in dict.fromkeys(asked) for file in profile_files(profile))
    places = map(Path, named) if named else (path for board in boards for path in board)
    return list(dict.fromkeys([*places, *above, *bases]))


def _boards(named: Sequence[str]) -> list[tuple[Path, ...]]:
    try:
        return boards_of(named) if named else [(path,) for path in boards_named(Path())]
    except CheckerError:
        return [(Path(name),) for name in named]


def _profiles(board: Sequence[Path]) -> tuple[str | Path, ...]:
    try:
        return config_of(board).profiles
    except CheckerError:
        return ()


def profile_files(profile: str | Path) -> list[Path]:
    """Where a profile lies, and those it is based on, as far as that can be told by now.

    A built-in one gets a file of that name, which is hardly ever there.
    """
    files: list[Path] = []
    file = Path(profile)
    while file not in files:
        files.append(file)
        try:
            base = read_nodes(file, str(file)).get("based_on")
        except CheckerError:
            break
        if base is None or not isinstance(base.value, str):
            break
        file = file.parent / base.value
    return files
