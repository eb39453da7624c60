from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Note
from checker.cache.codec import DamagedError, decode, encode
from checker.findings import Accepted, Report
from tests.cache import given as a
from tests.report.judging import SAMPLES, sample

BOARDS = [
    *(
        (f"boards/{folder.name}", "cone-30-0.1")
        for folder in sorted((SAMPLES / "boards").iterdir())
    ),
    ("boards/hive-scale", "flat-0.8"),  # five hundred findings
    ("boards/tide-logger", "perfboard"),  # no window of depths
    *(
        (f"rules/{folder.name}/bad", "cone-30-0.1")
        for folder in sorted((SAMPLES / "rules").iterdir())[::9]
    ),
]
WHOLE, ORIGINS = a.report()
KEPT = encode(WHOLE, ORIGINS)
STRANGE: list[Any] = [
    None, True, False, 0, -1, 7, 0.0, 1.5, "", "x", "inf", "error", "marginal", [], {}, [[]],
]  # fmt: skip


def as_bytes(document: Any) -> bytes:
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    return text.encode("utf-8", "surrogatepass")


def steps_of(document: Any, here: tuple[int, ...] = ()) -> list[tuple[int, ...]]:
    """The way to every value in lists of lists."""
    inner = enumerate(document) if isinstance(document, list) else ()
    return [here] * bool(here) + [way for i, one in inner for way in steps_of(one, (*here, i))]


def altered(way: tuple[int, ...], value: Any) -> bytes:
    """The answer with another value in one place."""
    document = json.loads(KEPT)
    home = document
    for step in way[:-1]:
        home = home[step]
    home[way[-1]] = value
    return as_bytes(document)


def again(data: bytes) -> bytes | None:
    """What comes of it when it is read and written, None where it is refused."""
    try:
        return encode(*decode(data, a.PROCESS))
    except DamagedError:
        return None


@pytest.mark.parametrize(("name", "profile"), BOARDS)
def test_a_sample_comes_back_as_it_was(name: str, profile: str) -> None:
    judged = sample(name, profile)
    origins = {finding.id: judged.origins(finding) for finding in judged.report.findings}

    report, traced = decode(encode(judged.report, origins), judged.report.process)

    assert a.told(report) == a.told(judged.report)
    assert traced == origins
    kept = replace(judged, report=report, facts=None, traced=traced)
    assert a.documents(kept) == a.documents(judged)


@given(a.reports())
def test_any_report_comes_back_as_it_was(answer: tuple[Report, a.Origins | None]) -> None:
    report, traced = decode(encode(*answer), a.PROCESS)

    assert a.told(report) == a.told(answer[0])
    assert traced == answer[1]


def test_every_field_is_kept_but_the_process_and_what_a_configuration_adds() -> None:
    empty = Report(WHOLE.board, a.PROCESS, WHOLE.verdict, (), (), ())

    kept, _ = decode(KEPT, a.PROCESS)

    names = set(Report.__struct_fields__)
    told, blank = a.told(kept), a.told(empty)
    same = {name for name in names if told[name] == blank[name]}
    assert same == {"board", "process", "verdict", "accepted", "stale", "known", "drawer"}
    assert told == a.told(WHOLE)


def test_the_process_is_the_one_that_is_given() -> None:
    other = replace(a.PROCESS, name="another")

    report, _ = decode(KEPT, other)

    assert report.process is other


@pytest.mark.parametrize("number", [0.1, -0.0, 5e-324, 1.7976931348623157e308, 1 / 3])
def test_a_number_comes_back_bit_for_bit(number: float) -> None:
    board = replace(WHOLE.board, box=(number, 0.0, 0.0, 0.0))

    report, _ = decode(encode(replace(WHOLE, board=board), None), a.PROCESS)

    assert report.board.box[0].hex() == number.hex()


@pytest.mark.parametrize("number", [math.inf, -math.inf])
def test_a_depth_without_an_end_comes_back(number: float) -> None:
    assert WHOLE.window is not None
    window = replace(WHOLE.window, flatness=number)

    report, _ = decode(encode(replace(WHOLE, window=window), None), a.PROCESS)

    assert report.window == window


def test_two_halves_of_a_letter_stay_two() -> None:
    board = replace(WHOLE.board, name="\ud83d\ude00 \udcff")

    report, _ = decode(encode(replace(WHOLE, board=board), None), a.PROCESS)

    assert report.board.name == board.name
    assert len(report.board.name) == 4


def test_numbers_of_numpy_come_back_as_plain_ones() -> None:
    counts: dict[str, Any] = {"holes": np.int64(3)}
    board = replace(WHOLE.board, box=tuple(np.array([0.1, 0.2, 0.3, 0.4])))

    report, _ = decode(encode(replace(WHOLE, board=board, counts=counts), None), a.PROCESS)

    assert [type(edge) for edge in report.board.box] == [float] * 4
    assert report.board.box == (0.1, 0.2, 0.3, 0.4)
    assert type(report.counts["holes"]) is int


@pytest.mark.parametrize(
    "added",
    [
        {"accepted": (Accepted(WHOLE.findings[0], True, "will do", "profile.yaml:3"),)},
        {"stale": (Note("profile.yaml", 3, "waives nothing"),)},
        {"known": {}},
        {"drawer": ("flat-0.4",)},
    ],
)
def test_what_follows_from_a_configuration_is_not_kept(added: dict[str, Any]) -> None:
    with pytest.raises(AssertionError):
        encode(replace(WHOLE, **added), None)


@given(st.sampled_from(steps_of(json.loads(KEPT))), st.sampled_from(STRANGE))
@settings(max_examples=200)
def test_a_value_of_another_kind_is_refused(way: tuple[int, ...], value: Any) -> None:
    data = altered(way, value)

    assert again(data) in (None, data)


@pytest.mark.parametrize(
    "way",
    [
        (0, 0),  # name of the board
        (0, 2, 1),  # an edge of its box
        (1,),  # verdict
        (2, 0, 0),  # id of a finding
        (2, 0, 3, 3),  # its state
        (2, 0, 3, 9, 0),  # a net
        (3, 0, 5, 0),  # number of a cause's finding
        (7, 0, 1),  # a depth
        (7, 4),  # whether there is no gap that tight
        (9,),  # what relief would do
        (10, 0, 1, 0, 2),  # what an origin is
    ],
)
@pytest.mark.parametrize("value", [{}, [], [[]], -1])
def test_no_answer_has_it(way: tuple[int, ...], value: Any) -> None:
    with pytest.raises(DamagedError):
        decode(altered(way, value), a.PROCESS)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff",
        b"[",
        b"[]",
        b"{}",
        b"null",
        KEPT + b" x",
        KEPT[:-1],
        KEPT.replace(b"2.25", b"NaN"),
        KEPT.replace(b"2.25", b"Infinity"),
        KEPT.replace(b"2.25", b"1e999"),
        KEPT.replace(b'["rules",2]', b'["rules",2],["rules",2]'),
        KEPT.replace(b'["rules",2]', b'["rules",' + b"9" * 5000 + b"]"),
        b"[" * 100_000,
    ],
)
def test_what_is_no_answer_is_refused(data: bytes) -> None:
    with pytest.raises(DamagedError):
        decode(data, a.PROCESS)


@given(st.binary(max_size=64))
def test_any_bytes_are_refused_without_another_error(data: bytes) -> None:
    with pytest.raises(DamagedError):
        decode(data, a.PROCESS)
