"""Files opened so that only an ordinary one is read, and none is ever waited for.

What a folder listed may be something else by the time it is opened: a pipe to which nobody writes
would block for ever, a device would have no end. So the file is opened without waiting, and what
was opened is asked what it is.
"""

from __future__ import annotations

import errno
import io
import os
import stat
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_NAMES = ("O_BINARY", "O_CLOEXEC", "O_NOCTTY", "O_NONBLOCK")  # not every system has all of them
_FLAGS = os.O_RDONLY | sum(getattr(os, name, 0) for name in _NAMES)
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


@contextmanager
def opened(path: Path, *, follow: bool = True) -> Iterator[io.FileIO]:
    """An ordinary file to read from, unbuffered.

    Args:
        path: where.
        follow: whether it may be a link to one, as a file may that the user named.

    Raises:
        OSError: it cannot be opened, it is no ordinary file, or it changed while it was open.
    """
    try:
        descriptor = os.open(path, _FLAGS | (0 if follow else _NO_LINK))
    except OSError as error:
        if error.errno == errno.ELOOP and not follow:
            raise OSError(errno.ELOOP, "is a link; not followed", str(path)) from None
        raise
    try:
        before = os.fstat(descriptor)
        if stat.S_ISDIR(before.st_mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        if not stat.S_ISREG(before.st_mode):
            raise OSError(errno.EINVAL, "is no ordinary file", str(path))
        yield io.FileIO(descriptor, closefd=False)
        after = os.fstat(descriptor)
        if (after.st_size, after.st_mtime_ns) != (before.st_size, before.st_mtime_ns):
            raise OSError(errno.EBUSY, "changed while it was read; read it again", str(path))
    finally:
        os.close(descriptor)
