"""Where the baseline of a board lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

NAME = "cutworthy-baseline.json"


def baseline_path(paths: Sequence[Path]) -> Path:
    """Where the baseline of a board lies: in its folder, or beside its archive or first file."""
    folder = next((path for path in paths if path.is_dir()), None)
    if folder is not None:
        return folder / f".{NAME}"
    return paths[0].with_name(f".{paths[0].name}.{NAME}")
