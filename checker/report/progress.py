"""How far long work is, on standard error and on a terminal only; it is gone when done."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from checker.report import words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_DULL = ("dumb", "unknown")  # terminals that can't take back what was written
_LONGEST = 60


@contextmanager
def progress(steps: int | None = None) -> Iterator[Callable[[str], None]]:
    """Show a bar while the work lasts.

    Args:
        steps: how many there are, None where nobody knows.

    Yields:
        What to call before each step, with what is being done.
    """
    if not sys.stderr.isatty() or os.environ.get("TERM", "").lower() in _DULL:
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True, markup=False, emoji=False, highlight=False)
    bar = Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TimeElapsedColumn(),
        console=console,
        transient=True,
        redirect_stdout=False,
        disable=console.legacy_windows,
    )
    with bar:
        task = bar.add_task("", total=steps)
        begun = False

        def tell(what: str) -> None:
            nonlocal begun
            # The first is drawn at once, however short the work; the others when the bar is due.
            said = words.plain(what, _LONGEST)
            bar.update(task, advance=1 if begun else 0, description=said, refresh=not begun)
            begun = True

        yield tell
