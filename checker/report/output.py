"""Where a document goes: to standard output, or whole or not at all to a file."""

from __future__ import annotations

import os
import re
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from checker.errors import UsageError
from checker.report import words

if TYPE_CHECKING:
    from collections.abc import Iterable

# What stands near the begin of a document of ours, or how its last line begins: JSON, SARIF, JUnit,
# SVG, PNG and Gerber, then text and HTML, lines, annotations. A newer one may replace such a file.
_BEGINS = re.compile(
    rb'\A\{\n "schema": "cutworthy\.|"tool": \{"driver": \{"name": "cutworthy"'
    rb'|<testsuites name="cutworthy"|<!-- made by cutworthy -->|Software\0cutworthy'
    rb"|\AG04 Findings of cutworthy\*"
)
_ENDS = re.compile(
    rb"\n(%s|cutworthy: |::notice title=cutworthy::)[^\n]*\n\Z" % words.TOOK.encode()
)
_HEAD, _TAIL = 300, 400  # bytes


def writable(output: Path, inputs: Iterable[Path]) -> Path:
    """The file to write, links followed; checked before the work is done, not after.

    Args:
        output: what the user named.
        inputs: files and folders that are read and must stay as they are.

    Raises:
        UsageError: the file can't be written, or belongs to the board.
    """
    target = output.resolve()
    if target.is_dir():
        raise UsageError(f"--output {output}", "is a folder", "a file")
    if output.exists() and not target.is_file():
        return output  # a pipe or a device: what /dev/stdout leads to has no name of its own
    if not target.parent.is_dir():
        raise UsageError(f"--output {output}", f"there is no folder {target.parent}")
    if not os.access(target if target.exists() else target.parent, os.W_OK):
        raise UsageError(f"--output {output}", "may not be written")
    if target.is_file() and any(map(target.samefile, filter(Path.exists, inputs))):
        raise UsageError(f"--output {output}", "is one of the files to be read", "another name")
    in_board = any(folder.resolve() in target.parents for folder in inputs if folder.is_dir())
    if in_board and target.is_file() and not _is_own(target):
        raise UsageError(f"--output {output}", "is one of the board's files", "another name")
    return target


def write(document: str | bytes, target: Path | None) -> None:
    """Write a document; a file is replaced only when all of the new one is on the disk.

    Raises:
        OSError: the text can't be written, with the name of what the user knows; a file that was
            there is then unharmed.
    """
    try:
        _write(document, target)
    except BrokenPipeError:
        raise
    except OSError as error:
        name = "standard output" if target is None else str(target)
        raise OSError(error.errno, error.strerror, name) from error


def _write(document: str | bytes, target: Path | None) -> None:
    content = document if isinstance(document, bytes) else document.encode()
    if target is None:
        if isinstance(document, str):
            sys.stdout.write(document)
        else:
            sys.stdout.buffer.write(document)
        sys.stdout.flush()
    elif target.exists() and not target.is_file():  # a device or a pipe can't be replaced
        target.write_bytes(content)
    else:
        beside = target.with_name(f".{target.name}.{os.getpid()}.part")
        try:
            beside.write_bytes(content)
            if target.exists():
                shutil.copymode(target, beside)
            beside.replace(target)
        finally:
            beside.unlink(missing_ok=True)


def _is_own(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(_HEAD)
        file.seek(max(0, path.stat().st_size - _TAIL))
        return bool(_BEGINS.search(head) or _ENDS.search(b"\n" + file.read()))
