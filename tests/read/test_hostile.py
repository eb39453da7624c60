"""Broken and hostile files: one clear ReadError or a board, never anything else."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.errors import ReadError
from checker.read import read_board
from checker.read.excellon import NumberFormat, parse_drill
from checker.read.jobfile import parse_job
from checker.read.machine import drill_holes
from checker.read.netlist import parse_netlist
from tests.read.made import drill, two_sided, write

if TYPE_CHECKING:
    import pytest

MANY = settings(max_examples=60, deadline=None)

SCRAPS = (
    *(
        "X",
        "Y",
        "T",
        "G",
        "M",
        "R",
        "A",
        "I",
        "G85",
        "T1.5",
        "T-1",
        "G0",
        "G03",
        "M15",
        "M",
        "T0001",
    ),
    *(
        "%",
        "M48",
        "INCH",
        "METRIC,LZ",
        "T1C",
        "T1C0.8",
        "T1C-1",
        "T1C.",
        "C1",
        "FMAT,2",
        "\n",
        "\n",
    ),
    *("1", "-", ".", "0", "9" * 30, "1e9", ";FILE_FORMAT=9:9", "; #@! TA.AperFunction", "R9999"),
    *("; #@! TF.FileFunction,", ";TYPE=", ";Holesize 1 = .", ";T01 Holesize 9. = 8.0 MILS", "\xe9"),
)


@MANY
@given(st.lists(st.sampled_from(SCRAPS), max_size=40).map("".join))
def test_drill_files_of_scraps(text: str) -> None:
    with contextlib.suppress(ReadError):
        drill_holes(parse_drill(text, "d"), NumberFormat(1.0, 3, 3))


@MANY
@given(st.text(max_size=200))
def test_any_text_as_any_kind(text: str) -> None:
    parse_netlist(text, "n")
    parse_job(text, "j")
    with contextlib.suppress(ReadError):
        drill_holes(parse_drill(text, "d"), NumberFormat(25.4, 2, 4, leading=True))


records = st.lists(
    st.sampled_from(
        ["317", "327", "P  UNITS", " CUST", " 1", "NET", "X+1", "Y-", "X+001000Y-002000"]
    )
    | st.sampled_from(["A01", "A99", "D0800", "P  NNAME1 ", "\n", " " * 14, "999", "C", "078"]),
    max_size=30,
).map("".join)


@MANY
@given(records)
def test_netlists_of_scraps(text: str) -> None:
    parse_netlist(text, "n").pins(2)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(sorted(two_sided())), st.data())
def test_board_with_a_damaged_file(
    tmp_path_factory: pytest.TempPathFactory, name: str, data: st.DataObject
) -> None:
    files = two_sided() | {"b-via.drl": drill("X2.0Y2.0G85X3.0Y2.0")}
    text = files[name]
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(start + 30, len(text))))
    files[name] = text[:start] + data.draw(st.text("XYDGM0123*%\n.-", max_size=8)) + text[end:]
    folder = write(tmp_path_factory.mktemp("board"), files)

    with contextlib.suppress(ReadError):
        assert read_board([folder]).copper
