"""A report as bytes and back: JSON of plain values, nothing that could run.

Read strictly: what is not of the kind that was written is damage, never a guess. Each kind says
both ways in one place, so the two can't drift apart.
"""

from __future__ import annotations

import json
import math
import operator
from functools import cache
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from msgspec import Struct

from checker.depth import Span, Window
from checker.findings import Cause, Finding, Observation, Report, State, Verdict
from checker.remarks import Note, Origin, Unchecked
from checker.severity import Severity
from checker.summary import LayerSummary, Summary

if TYPE_CHECKING:
    import enum
    from collections.abc import Callable, Mapping

    from checker.process.model import Process

    Origins = Mapping[str, tuple[Origin, ...]]
    Kept = tuple[Report, Origins | None]

_T = TypeVar("_T")
_R = TypeVar("_R", bound=Struct)
_SPELLED = {"inf": math.inf, "-inf": -math.inf, "nan": math.nan}  # what JSON has no number for


class DamagedError(Exception):
    """The bytes hold no answer; never leaves the cache."""


class _Kind(Struct, Generic[_T], frozen=True):
    """How values of a kind become JSON's values, and come back or are refused."""

    write: Callable[[_T], object]
    read: Callable[[Any], _T]


def _only(kind: type, value: Any) -> Any:
    """The value, if it is of this very type: True is no number."""
    if type(value) is not kind:
        raise DamagedError
    return value


def _plain(kind: type[_T], of: Callable[[Any], _T]) -> _Kind[_T]:
    """A type of JSON's; ``of`` makes it of numpy's likeness of it, and of nothing else."""
    return _Kind(of, lambda value: _only(kind, value))


def _write_real(value: float) -> object:
    real = float(value)  # a number of numpy's becomes one of Python's, bit for bit
    return real if math.isfinite(real) else repr(real)


def _read_real(value: Any) -> float:
    if type(value) is float and math.isfinite(value):
        return value
    if type(value) is str and value in _SPELLED:
        return _SPELLED[value]
    raise DamagedError


def _maybe(kind: _Kind[_T]) -> _Kind[_T | None]:
    write, read = kind.write, kind.read
    return _Kind(
        lambda value: None if value is None else write(value),
        lambda value: None if value is None else read(value),
    )


def _many(kind: _Kind[_T]) -> _Kind[tuple[_T, ...]]:
    write, read = kind.write, kind.read
    return _Kind(
        lambda values: [write(value) for value in values],
        lambda values: tuple([read(value) for value in _only(list, values)]),
    )


def _row(*kinds: _Kind[Any]) -> _Kind[tuple[Any, ...]]:
    """A tuple of values of different kinds."""
    writers, readers, length = [k.write for k in kinds], [k.read for k in kinds], len(kinds)

    def read(values: Any) -> tuple[Any, ...]:
        if type(values) is not list or len(values) != length:
            raise DamagedError
        return tuple([reader(value) for reader, value in zip(readers, values, strict=True)])

    return _Kind(
        lambda values: [write(value) for write, value in zip(writers, values, strict=True)], read
    )


def _record(of: type[_R], *kinds: _Kind[Any]) -> _Kind[_R]:
    """A record by the kinds of its fields, in their order."""
    names = of.__struct_fields__
    row = _row(*kinds)
    return _Kind(
        lambda value: row.write(tuple([getattr(value, name) for name in names])),
        lambda values: of(*row.read(values)),
    )


def _mapping(kind: _Kind[_T]) -> _Kind[Mapping[str, _T]]:
    """A map from texts, in its order."""
    rows = _many(_row(TEXT, kind))

    def read(values: Any) -> Mapping[str, _T]:
        pairs = rows.read(values)
        if len(found := dict(pairs)) != len(pairs):
            raise DamagedError
        return found

    return _Kind(lambda mapping: rows.write(tuple(mapping.items())), read)


def _choice(of: type[enum.Enum]) -> _Kind[Any]:
    members = {member.value: member for member in of}

    def read(value: Any) -> Any:
        if type(value) is not str or value not in members:
            raise DamagedError
        return members[value]

    return _Kind(lambda member: member.value, read)


TEXT = _plain(str, str.__str__)
WHOLE = _plain(int, operator.index)
TRUTH = _plain(bool, bool)
REAL = _Kind(_write_real, _read_real)
_SEVERITY, _STATE, _VERDICT = map(_choice, (Severity, State, Verdict))
_NAMES = _many(TEXT)

_NOTE = _record(Note, TEXT, WHOLE, TEXT)
_UNCHECKED = _many(_record(Unchecked, TEXT, TEXT))
_SPAN = _record(Span, REAL, REAL)
_WINDOW = _record(Window, _SPAN, _SPAN, REAL, REAL, TRUTH)
_LAYER = _record(LayerSummary, TEXT, WHOLE, REAL, WHOLE)
_BOARD = _record(
    Summary,
    TEXT,  # name
    _many(_row(TEXT, TEXT)),  # sources
    _row(REAL, REAL, REAL, REAL),  # box
    _many(_LAYER),
    WHOLE,  # holes
    WHOLE,  # slots
    TEXT,  # nets_from
    _many(_NOTE),
)
_SEEN = _record(
    Observation,
    TEXT,  # message
    TEXT,  # remedy
    TEXT,  # cause
    _STATE,
    _maybe(REAL),  # measured
    _maybe(REAL),  # limit
    _maybe(TEXT),  # side
    _maybe(REAL),  # x
    _maybe(REAL),  # y
    _NAMES,  # nets
    _NAMES,  # pins
    _maybe(TEXT),  # together
    _maybe(TEXT),  # redraw
    TRUTH,  # last
)
_FINDING = _record(Finding, TEXT, TEXT, _SEVERITY, _SEEN)
_CAUSE = _row(TEXT, TEXT, _SEVERITY, _STATE, TEXT, _many(WHOLE))  # findings by their number
_ORIGINS = _mapping(_many(_record(Origin, TEXT, WHOLE, TEXT)))
_ANSWER = _row(
    _BOARD,
    _VERDICT,
    _many(_FINDING),
    _many(_CAUSE),
    _UNCHECKED,
    _many(_row(TEXT, _NAMES)),  # joined
    _mapping(WHOLE),  # counts
    _maybe(_WINDOW),
    _mapping(_UNCHECKED),  # asked
    _maybe(_row(WHOLE, WHOLE)),  # relief
    _maybe(_ORIGINS),
)
# Texts stay what they are: an escape would join two halves of a letter that a file left apart.
_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def encode(report: Report, origins: Origins | None) -> bytes:
    """All of a report but its process, and the origins of its findings where they are known.

    Args:
        report: as `checker.engine.check` gives it, with nothing accepted or added to it.
        origins: by finding id.
    """
    later = report.accepted or report.stale or report.known is not None or report.drawer
    assert not later, "what follows from a configuration is worked out anew each time"
    number = {finding: i for i, finding in enumerate(report.findings)}
    causes = [
        (
            one.cause,
            one.rule,
            one.severity,
            one.state,
            one.remedy,
            [number[f] for f in one.findings],
        )
        for one in report.causes
    ]
    answer = (
        report.board,
        report.verdict,
        report.findings,
        causes,
        report.unchecked,
        report.joined,
        report.counts,
        report.window,
        report.asked,
        report.relief,
        origins,
    )
    return _ENCODER.encode(_ANSWER.write(answer)).encode("utf-8", "surrogatepass")


def decode(data: bytes, process: Process) -> Kept:
    """What `encode` was given, for the process that it was found by.

    Raises:
        DamagedError: the bytes are not what `encode` makes.
    """
    try:
        plain = _decoder().decode(data.decode("utf-8", "surrogatepass"))
        board, verdict, findings, causes, *rest, origins = _ANSWER.read(plain)
    except (ValueError, RecursionError) as fault:
        raise DamagedError from fault
    unchecked, joined, counts, window, asked, relief = rest
    grouped = tuple(
        [
            Cause(cause, rule, severity, state, remedy, _picked(findings, numbers))
            for cause, rule, severity, state, remedy, numbers in causes
        ]
    )
    report = Report(
        board, process, verdict, findings, grouped, unchecked, joined, counts, window, asked,
        relief=relief,
    )  # fmt: skip
    return report, origins


def _picked(findings: tuple[Finding, ...], numbers: tuple[int, ...]) -> tuple[Finding, ...]:
    if not numbers or not 0 <= min(numbers) <= max(numbers) < len(findings):
        raise DamagedError
    return tuple([findings[number] for number in numbers])


@cache
def _decoder() -> json.JSONDecoder:
    def refuse(_: str) -> float:
        raise DamagedError

    return json.JSONDecoder(parse_constant=refuse)
