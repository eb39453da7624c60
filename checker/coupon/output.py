"""The coupon's files in a folder: all of them or none, and never over others unless asked."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from checker.coupon.layers import SAME, layers
from checker.coupon.readings import measurements
from checker.coupon.sheet import sheet
from checker.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from checker.coupon.model import Coupon

MEASUREMENTS, SHEET = "measurements.yaml", "sheet.html"
_HEAD = 400  # bytes


def texts_of(coupon: Coupon) -> dict[str, str]:
    """Every file of the coupon, name -> text."""
    return {MEASUREMENTS: measurements(coupon), SHEET: sheet(coupon), **layers(coupon)}


def write(coupon: Coupon, folder: Path, force: bool = False) -> tuple[Path, ...]:
    """Write the files of a coupon, the folder made if it is missing.

    Args:
        coupon: to write.
        folder: where to.
        force: write over files that are there, and clear away those of an earlier coupon.

    Returns:
        The files that were written.

    Raises:
        UsageError: files are there already and ``force`` is not set, or nothing can be written;
            what was there is then unharmed.
    """
    where = f"coupon, folder {folder}"
    if folder.exists() and not folder.is_dir():
        raise UsageError(where, "is a file", "a folder")
    names = (MEASUREMENTS, SHEET, *layers(coupon))  # what may hold readings is named first
    targets = [folder / name for name in names]
    in_the_way = next((path for path in targets if path.is_dir()), None)
    if in_the_way is not None:
        raise UsageError(where, f"holds a folder {in_the_way.name}", "a file or nothing")
    old = _earlier(folder, names)
    there = [path for path in (*targets, *old) if os.path.lexists(path)]
    if there and not force:
        raise UsageError(
            where, f"holds {there[0].name} already", advice="name another folder, or give --force"
        )
    made, texts = not folder.exists(), texts_of(coupon)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _write({path: texts[path.name] for path in targets})
        for path in old:
            path.unlink()
    except OSError as fault:
        if made and folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()
        raise UsageError(where, f"cannot be written: {fault.strerror or fault}") from None
    return tuple(targets)


def _write(targets: dict[Path, str]) -> None:
    """First all of it beside the files, then each in its place."""
    beside = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in targets}
    try:
        for path, text in targets.items():
            beside[path].write_bytes(text.encode())
        for path, part in beside.items():
            part.replace(path)
    finally:
        for part in beside.values():
            part.unlink(missing_ok=True)


def _earlier(folder: Path, names: Collection[str]) -> list[Path]:
    """Layers of another coupon: left beside these, they would be cut with them."""
    if not folder.is_dir():
        return []
    others = [path for path in sorted(folder.iterdir()) if path.suffix in (".gbr", ".drl")]
    return [path for path in others if path.name not in names and path.is_file() and _ours(path)]


def _ours(path: Path) -> bool:
    with path.open("rb") as file:
        return SAME.encode() in file.read(_HEAD)
