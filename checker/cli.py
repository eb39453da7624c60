"""The command line. Results go to standard output, everything else to standard error.

Exit status: 0 clean, 1 findings at or above ``--fail-on``, 2 could not run. A command is the module
of its name in `checker.commands`, and is loaded when it is called.
"""

from __future__ import annotations

import errno
import gc
import os
import sys
from contextlib import suppress
from importlib import import_module
from typing import TYPE_CHECKING, NoReturn

from checker.console import FAILED, fail
from checker.errors import CheckerError
from checker.options import parse

if TYPE_CHECKING:
    from collections.abc import Sequence

_RARELY = (50_000, 20, 20)  # objects, and collections of the younger, before one looks for cycles


def run() -> NoReturn:
    """The command as a process of its own, which ends here.

    What it makes mostly stays to the end, so looking for cycles finds little; and what is there at
    the end need not be taken down, for the system takes it back. Both were a fifth of a check of a
    small board.
    """
    gc.set_threshold(*_RARELY)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # numpy's threads start slow, and do little
    status = main()
    if sys.getprofile() or sys.gettrace():  # somebody looks on, and wants to tell of it
        sys.exit(status)
    for stream in filter(None, (sys.stdout, sys.stderr)):
        with suppress(OSError, ValueError):
            stream.flush()
    os._exit(status)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; the exit status. Never raises, never prints a traceback unasked."""
    _open_closed()
    if hasattr(sys.stdout, "reconfigure"):  # a console that can't show a letter gets its number
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        args = parse(sys.argv[1:] if argv is None else argv)
        status: int = import_module(f"checker.commands.{args.command}").run(args)
        sys.stdout.flush()
    except SystemExit as stop:  # argparse, after --help and --version
        return stop.code if isinstance(stop.code, int) else FAILED
    except CheckerError as error:
        return fail(str(error))
    except KeyboardInterrupt:
        return fail("stopped before the end")
    except BrokenPipeError:
        _drop_output()
        return fail("the reader of the output closed it before the end")
    except MemoryError:
        return fail("the board needs more memory than there is")
    except RecursionError:
        return fail("a file is nested too deeply to be read")
    except OSError as error:
        _drop_output()
        nameless = "standard output" if error.errno in (errno.ENOSPC, errno.EBADF) else ""
        where = f"{name}: " if (name := error.filename or nameless) else ""
        return fail(f"{where}{error.strerror or error}")
    except Exception as error:
        if os.environ.get("CUTWORTHY_DEBUG") == "1":
            raise
        return fail(_unexpected(error))
    return status


def _open_closed() -> None:
    """Streams in place of those that were closed before the start, which Python has as None.

    A word too many on standard error is lost; an answer that nobody can get is a fault.
    """
    if sys.stderr is None:
        sys.stderr = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")
    if sys.stdout is None:
        sys.stdout = os.fdopen(os.open(os.devnull, os.O_RDONLY), "w", encoding="utf-8")


def _drop_output() -> None:
    """Let go of what standard output won't take; the interpreter would try again at its end."""
    try:
        sys.stdout.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _unexpected(error: Exception) -> str:
    from checker import __version__

    return (
        f"a fault of version {__version__} itself, please report it with the board if you may "
        f"({type(error).__name__}: {error}); CUTWORTHY_DEBUG=1 shows where"
    )
