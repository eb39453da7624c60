"""The file of a baseline: a line per finding, so that version control shows what changed.

The same findings give the same bytes. It is trusted with nothing: bounded, and refused whole where
anything in it is not as it was written.
"""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING, Any, TypeVar

from checker.accepted.baseline import Baseline, Known
from checker.errors import ReadError, UsageError
from checker.findings import Finding, Observation, State
from checker.opened import opened
from checker.report.json import dumps
from checker.report.judged import seen as shown
from checker.report.output import write
from checker.severity import Severity

if TYPE_CHECKING:
    from pathlib import Path

SCHEMA = "cutworthy.baseline/1"
LARGEST = 64 << 20  # bytes; 60 000 findings take 18 MB
_LONGEST = 1e9  # mm; beyond every board, and squares of it are still numbers
_ADVICE = "make it again with cutworthy baseline"
_KEYS = (
    *("profile", "id", "rule", "severity", "state", "side", "x_mm", "y_mm"),
    *("measured_mm", "limit_mm", "nets", "pins"),
)
_SEVERITIES = {severity.value: severity for severity in Severity}
_STATES = {state.value: state for state in State}
_Word = TypeVar("_Word", Severity, State)


def write_baseline(baseline: Baseline, path: Path) -> None:
    """Write the file, whole or not at all.

    Raises:
        UsageError: there is more to know than may be read again, or a link in the file's place.
        OSError: it can't be written; a file that was there is then unharmed.
    """
    if path.is_symlink():
        raise UsageError(str(path), "is a link, which is not followed", "a file or none")
    text = dumps(_document(baseline))
    if len(text) > LARGEST:
        raise UsageError(
            str(path), f"would be larger than {LARGEST >> 20} MB", "fewer findings to know"
        )
    write(text, path)


def read_baseline(path: Path) -> Baseline | None:
    """The baseline in a file; None where there is none.

    Raises:
        ReadError: the file is no baseline as it was written, or too large.
        OSError: it can't be read.
    """
    if not path.exists() and not path.is_symlink():
        return None
    if path.is_symlink() or not path.is_file():
        raise ReadError(str(path), "is no ordinary file", "a baseline", _ADVICE)
    with opened(path, follow=False) as file, io.BufferedReader(file) as stream:
        content = stream.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise ReadError(str(path), f"is larger than {LARGEST >> 20} MB", "a baseline", _ADVICE)
    try:
        return Baseline(shown(path), _known(json.loads(content.decode())))
    except json.JSONDecodeError as fault:
        where = f"{path}:{fault.lineno}"
        raise ReadError(where, "is no JSON", "a baseline", _ADVICE) from fault
    except (ValueError, RecursionError) as fault:
        found = str(fault) if isinstance(fault, _OddError) else "is no JSON of a baseline"
        raise ReadError(str(path), found, "a baseline as it was written", _ADVICE) from fault


def _document(baseline: Baseline) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "profiles": [
            {"name": name, "corner_mm": list(known.corner), "size_mm": list(known.size)}
            for name, known in baseline.known.items()
        ],
        "findings": [
            {"profile": name, **_entry(finding)}
            for name, known in baseline.known.items()
            for finding in known.findings
        ],
    }


def _entry(finding: Finding) -> dict[str, Any]:
    seen = finding.seen
    return {
        "id": finding.id,
        "rule": finding.rule,
        "severity": finding.severity.value,
        "state": seen.state.value,
        "side": seen.side,
        "x_mm": seen.x,
        "y_mm": seen.y,
        "measured_mm": seen.measured,
        "limit_mm": seen.limit,
        "nets": list(seen.nets),
        "pins": list(seen.pins),
    }


class _OddError(ValueError):
    """Something in the file is not as it was written."""


def _known(document: object) -> dict[str, Known]:
    fields = _fields(document, ("schema", "profiles", "findings"), "the document")
    if fields["schema"] != SCHEMA:
        raise _OddError(f"is of another schema than {SCHEMA}")
    boxes: dict[str, dict[str, Any]] = {}
    for number, entry in enumerate(_list(fields["profiles"], "profiles"), 1):
        where = f"profile {number}"
        box = _fields(entry, ("name", "corner_mm", "size_mm"), where)
        name = _text(box["name"], where)
        if name in boxes:
            raise _OddError(f"{where} is there twice")
        boxes[name] = box
    found: dict[str, list[Finding]] = {name: [] for name in boxes}
    for number, entry in enumerate(_list(fields["findings"], "findings"), 1):
        where = f"finding {number}"
        one = _fields(entry, _KEYS, where)
        profile = _text(one["profile"], where)
        if profile not in found:
            raise _OddError(f"{where} is of a profile that is not among its profiles")
        found[profile].append(_finding(one, where))
    return {
        name: Known(
            _point(box["corner_mm"], f"the corner of profile {number}"),
            _point(box["size_mm"], f"the size of profile {number}"),
            tuple(found[name]),
        )
        for number, (name, box) in enumerate(boxes.items(), 1)
    }


def _finding(one: dict[str, Any], where: str) -> Finding:
    x, y = _length(one["x_mm"], where), _length(one["y_mm"], where)
    if (x is None) != (y is None):
        raise _OddError(f"{where} has half a place")
    side = None if one["side"] is None else _text(one["side"], where)
    measured, limit = _length(one["measured_mm"], where), _length(one["limit_mm"], where)
    state = _word(one["state"], _STATES, where)
    nets, pins = _names(one["nets"], where), _names(one["pins"], where)
    seen = Observation("", "", "", state, measured, limit, side, x, y, nets, pins)
    severity = _word(one["severity"], _SEVERITIES, where)
    return Finding(_text(one["id"], where), _text(one["rule"], where), severity, seen)


def _fields(value: object, names: tuple[str, ...], where: str) -> dict[str, Any]:
    if not isinstance(value, dict) or set(value) != set(names):
        raise _OddError(f"{where} does not hold {', '.join(names)} and nothing else")
    return value


def _list(value: object, where: str) -> list[Any]:
    if not isinstance(value, list):
        raise _OddError(f"{where} is no list")
    return value


def _names(value: object, where: str) -> tuple[str, ...]:
    return tuple(_text(name, where) for name in _list(value, f"nets or pins of {where}"))


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise _OddError(f"{where} has no text where a text should be")
    return value


def _word(value: object, known: dict[str, _Word], where: str) -> _Word:
    if not isinstance(value, str) or value not in known:
        raise _OddError(f"{where} has none of the words {', '.join(known)}")
    return known[value]


def _length(value: object, where: str) -> float | None:
    if value is None:
        return None
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise _OddError(f"{where} has no number where a length should be")
    if not abs(value) <= _LONGEST:
        raise _OddError(f"{where} has a length that no board has")
    return float(value)


def _point(value: object, where: str) -> tuple[float, float]:
    lengths = [_length(one, where) for one in _list(value, where)]
    if len(lengths) != 2 or lengths[0] is None or lengths[1] is None:
        raise _OddError(f"{where} is not two lengths")
    return lengths[0], lengths[1]
