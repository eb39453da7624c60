"""The Gerber job file: which file is which layer, the board's size and its number of layers.

Source: the Gerber job file format, JSON with the objects Header, GeneralSpecs (older drafts:
Overall) and FilesAttributes. Exporters differ in capitals, so keys are matched without regard to
them. The job file identifies files and serves as a cross-check; no geometry comes from it.
"""

from __future__ import annotations

import json
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field

from checker.board import Note

if TYPE_CHECKING:
    from collections.abc import Mapping


LONGEST = 1 << 20  # characters; the largest job file met has 6 000


class JobFile(Struct, frozen=True):
    """What a job file says.

    Attributes:
        functions: file name in lower case, without folders, to its file function.
        size: width and height of the board in mm, None where not said.
        layer_count: number of copper layers, 0 where not said.
    """

    name: str
    functions: Mapping[str, str] = field(default_factory=dict)
    size: tuple[float, float] | None = None
    layer_count: int = 0
    notes: tuple[Note, ...] = ()


def parse_job(text: str, name: str) -> JobFile:
    """Read a job file; one that cannot be read says nothing, and a note says why."""
    if len(text) > LONGEST:
        why = f"not read: longer than {LONGEST} characters"
        return JobFile(name, notes=(Note(name, 0, why),))
    try:
        root = _lower(json.loads(text))
    except (ValueError, RecursionError) as error:
        return JobFile(name, notes=(Note(name, getattr(error, "lineno", 0), f"not read: {error}"),))
    if not isinstance(root, dict):
        return JobFile(name, notes=(Note(name, 1, "not read: no object at its top"),))
    functions: dict[str, str] = {}
    entries = root.get("filesattributes")
    for entry in entries if isinstance(entries, list) else []:
        path, function = _get(entry, "path"), _get(entry, "filefunction")
        if isinstance(path, str) and isinstance(function, str):
            functions[PurePosixPath(path.replace("\\", "/")).name.lower()] = function
    specs = root.get("generalspecs") or root.get("overall")
    width, height = (_number(_get(_get(specs, "size"), axis)) for axis in "xy")
    return JobFile(
        name,
        functions,
        (width, height) if width and height else None,
        int(_number(_get(specs, "layernumber"))),
    )


def _lower(value: Any) -> Any:
    """The same JSON value with all keys in lower case."""
    if isinstance(value, dict):
        return {str(key).lower(): _lower(item) for key, item in value.items()}
    return [_lower(item) for item in value] if isinstance(value, list) else value


def _get(value: Any, key: str) -> Any:
    return value.get(key) if isinstance(value, dict) else None


def _number(value: Any) -> float:
    """A positive number, 0 for anything else."""
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and 0 < value < 1e5
    return float(value) if good else 0.0
