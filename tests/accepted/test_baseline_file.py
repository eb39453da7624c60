from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.accepted import baseline_file
from checker.accepted.baseline import Baseline, recorded
from checker.accepted.baseline_file import read_baseline, write_baseline
from checker.errors import ReadError, UsageError
from checker.findings import Finding
from tests.accepted.made import FINDINGS, finding, report

NAME = ".cutworthy-baseline.json"
EVIL = '<script>\x1b[31m\n"\u202e\udc80'


def known(*findings: Finding) -> Baseline:
    return recorded([report(*findings), report(profile="other")], NAME)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file of a baseline in the working folder."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / NAME
    write_baseline(known(finding(), finding("b", x=None, y=None, measured=None)), path)
    return path


def fault_of(path: Path) -> str:
    with pytest.raises(ReadError) as fault:
        read_baseline(path)
    return str(fault.value)


def test_no_file_is_no_baseline(tmp_path: Path) -> None:
    assert read_baseline(tmp_path / NAME) is None


@given(found=FINDINGS)
def test_what_is_written_is_read_again(
    tmp_path_factory: pytest.TempPathFactory, found: tuple[Finding, ...]
) -> None:
    path = tmp_path_factory.mktemp("board") / NAME
    baseline = known(*found)

    write_baseline(baseline, path)

    assert read_baseline(path) == baseline


def test_names_that_try_to_do_harm_are_kept_in_one_line_of_ascii(path: Path) -> None:
    write_baseline(known(finding(nets=(EVIL,), pins=(EVIL,))), path)

    again = read_baseline(path)

    assert again is not None
    assert again.known["cone"].findings[0].seen.nets == (EVIL,)
    assert path.read_bytes().isascii()
    assert sum("uncuttable-gap" in line for line in path.read_text().splitlines()) == 1


def test_a_finding_is_a_line(path: Path) -> None:
    lines = path.read_text().splitlines()

    assert lines[:5] == [
        "{",
        ' "schema": "cutworthy.baseline/1",',
        ' "profiles": [',
        '  {"name": "cone", "corner_mm": [0.0, 0.0], "size_mm": [100.0, 64.0]},',
        '  {"name": "other", "corner_mm": [0.0, 0.0], "size_mm": [100.0, 64.0]}',
    ]
    assert lines[7:9] == [
        '  {"profile": "cone", "id": "b", "rule": "uncuttable-gap", "severity": "error", '
        '"state": "not-makeable", "side": "top", "x_mm": null, "y_mm": null, "measured_mm": null, '
        '"limit_mm": 0.3, "nets": ["GND", "VCC"], "pins": ["U1.1", "U1.2"]},',
        '  {"profile": "cone", "id": "a", "rule": "uncuttable-gap", "severity": "error", '
        '"state": "not-makeable", "side": "top", "x_mm": 10.0, "y_mm": 20.0, "measured_mm": 0.25, '
        '"limit_mm": 0.3, "nets": ["GND", "VCC"], "pins": ["U1.1", "U1.2"]}',
    ]


def test_one_finding_less_is_one_line_less(path: Path) -> None:
    before = path.read_text().splitlines()

    write_baseline(known(finding()), path)

    after = path.read_text().splitlines()
    assert [line for line in after if line not in before] == []
    assert len(before) - len(after) == 1


def test_file_is_called_as_seen_from_the_working_folder(path: Path) -> None:
    baseline = read_baseline(path)

    assert baseline is not None
    assert baseline.source == NAME


def test_a_file_that_cannot_be_written_whole_is_left_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)

    with pytest.raises(OSError, match="No space left"):
        write_baseline(known(), path)

    assert path.read_bytes() == before
    assert [one.name for one in path.parent.iterdir()] == [NAME]


def test_a_baseline_too_large_to_be_read_is_not_written(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = path.read_bytes()
    monkeypatch.setattr(baseline_file, "LARGEST", 100)

    with pytest.raises(UsageError, match="would be larger than"):
        write_baseline(known(finding()), path)

    assert path.read_bytes() == before


def test_a_file_that_is_too_large_is_refused(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(baseline_file, "LARGEST", 100)

    assert "is larger than" in fault_of(path)


def test_a_folder_in_its_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / NAME).mkdir()

    assert "is no ordinary file" in fault_of(tmp_path / NAME)


def test_a_link_in_its_place_is_neither_read_nor_written(path: Path) -> None:
    other = path.with_name("other.json")
    path.rename(other)
    path.symlink_to(other)
    before = other.read_bytes()

    assert "is no ordinary file" in fault_of(path)
    with pytest.raises(UsageError, match="is a link, which is not followed"):
        write_baseline(known(), path)
    assert other.read_bytes() == before


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b"\xff\xfe{}",
        b'{"schema": "cutworthy.baseline/2", "profiles": [], "findings": []}',
        b'{"schema": "cutworthy.baseline/1", "profiles": [], "findings": [], "more": 1}',
        b'{"schema": "cutworthy.baseline/1", "profiles": {}, "findings": []}',
        b'{"schema": "cutworthy.baseline/1", "profiles": [], "findings": 7}',
        b'{"schema": "cutworthy.baseline/1", "profiles": [1], "findings": []}',
        b"[" * 200_000,
        b'{"schema": ' + b"9" * 10_000 + b"}",
    ],
    ids=range(12),
)
def test_what_is_no_baseline_is_refused_with_what_to_do(path: Path, content: bytes) -> None:
    path.write_bytes(content)

    fault = fault_of(path)

    assert fault.startswith(str(path))
    assert fault.endswith("; make it again with cutworthy baseline")
    assert "\n" not in fault


def test_marks_of_a_merge_are_told_with_their_line(path: Path) -> None:
    lines = path.read_text().splitlines()
    path.write_text("\n".join([*lines[:7], "<<<<<<< HEAD", *lines[7:]]))

    assert fault_of(path).startswith(f"{path}:8: is no JSON")


def changed(path: Path, part: str, number: int, **changes: Any) -> None:
    document = json.loads(path.read_text())
    document[part][number] |= changes
    path.write_text(json.dumps(document))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"profile": "unknown"}, "finding 2 is of a profile that is not among its profiles"),
        ({"profile": ["cone"]}, "finding 2 has no text where a text should be"),
        ({"id": 7}, "finding 2 has no text"),
        ({"rule": None}, "finding 2 has no text"),
        ({"severity": "fatal"}, "finding 2 has none of the words error, warning, note"),
        ({"severity": ["error"]}, "finding 2 has none of the words"),
        ({"state": "makeable"}, "finding 2 has none of the words not-makeable, marginal, remark"),
        ({"side": 1}, "finding 2 has no text"),
        ({"x_mm": None}, "finding 2 has half a place"),
        ({"x_mm": "1"}, "finding 2 has no number where a length should be"),
        ({"x_mm": True}, "finding 2 has no number"),
        ({"x_mm": float("nan")}, "finding 2 has a length that no board has"),
        ({"y_mm": float("inf")}, "finding 2 has a length that no board has"),
        ({"y_mm": 10**400}, "finding 2 has a length that no board has"),
        ({"measured_mm": -1e300}, "finding 2 has a length that no board has"),
        ({"limit_mm": []}, "finding 2 has no number"),
        ({"nets": "GND"}, "nets or pins of finding 2 is no list"),
        ({"pins": [None]}, "finding 2 has no text"),
        ({"more": 1}, "finding 2 does not hold profile, id, rule"),
    ],
    ids=range(19),
)
def test_a_finding_that_is_not_as_it_was_written_is_refused(
    path: Path, changes: dict[str, Any], told: str
) -> None:
    changed(path, "findings", 1, **changes)

    assert told in fault_of(path)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"name": None}, "profile 2 has no text"),
        ({"name": "cone"}, "profile 2 is there twice"),
        ({"corner_mm": [0.0]}, "the corner of profile 2 is not two lengths"),
        ({"corner_mm": [0.0, None]}, "the corner of profile 2 is not two lengths"),
        ({"size_mm": 5}, "the size of profile 2 is no list"),
        ({"more": 1}, "profile 2 does not hold name, corner_mm, size_mm and nothing else"),
    ],
    ids=range(6),
)
def test_a_profile_that_is_not_as_it_was_written_is_refused(
    path: Path, changes: dict[str, Any], told: str
) -> None:
    changed(path, "profiles", 1, **changes)

    assert told in fault_of(path)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@given(part=st.sampled_from(["profiles", "findings"]), key=st.integers(0, 11), value=JSON)
def test_whatever_stands_in_it_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, part: str, key: int, value: object
) -> None:
    path = tmp_path_factory.mktemp("board") / NAME
    write_baseline(known(finding(), finding("b", x=1.0)), path)
    fields = list(json.loads(path.read_text())[part][0])
    changed(path, part, 0, **{fields[key % len(fields)]: value})

    try:
        answer: object = read_baseline(path)
    except ReadError as fault:
        answer = str(fault)

    assert isinstance(answer, Baseline) or "make it again" in str(answer)
