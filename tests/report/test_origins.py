from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from checker.findings import Finding
from checker.remarks import Origin
from checker.report.judged import Judged, uri
from checker.report.origins import origins_of
from tests.report import made
from tests.report.judging import sample

FACTS = made.facts(made.board())


def origins(**changes: object) -> tuple[Origin, ...]:
    """Of a finding on the tiny board; all of its copper is drawn in the first line of a file."""
    return origins_of(FACTS).of(made.finding(1, **changes))


def told(found: tuple[Origin, ...]) -> list[tuple[str, int, str]]:
    return [(one.source, one.line, one.what) for one in found]


def test_a_measured_gap_has_both_its_objects() -> None:
    # The gap of the tiny board's facts whose middle is here.
    assert told(origins(x=1.125, y=0.5)) == [("top.gbr", 1, "U1.1 (GND)"), ("top.gbr", 1, "U1.2")]


def test_a_gap_whose_object_nobody_knows_has_the_file() -> None:
    assert told(origins(x=1.125, y=0.9)) == [
        ("top.gbr", 0, "copper"),
        ("top.gbr", 0, "copper of GND"),
    ]


def test_a_neck_has_its_object_and_a_hole_there_too() -> None:
    assert told(origins(x=0.5, y=0.5)) == [
        ("top.gbr", 1, "U1.1 (GND)"),
        ("holes.drl", 7, "the hole 0.80 mm"),
    ]


def test_a_finding_of_no_side_has_the_hole_first() -> None:
    assert told(origins(x=0.5, y=0.5, side=None))[0] == ("holes.drl", 7, "the hole 0.80 mm")


@pytest.mark.parametrize("place", [(3.0, 0.0), (3.0, 1.0), (3.0, 2.0)])
def test_a_slot_is_found_by_its_ends_and_its_middle(place: tuple[float, float]) -> None:
    x, y = place

    assert ("holes.drl", 9, "the hole 1.00 mm") in told(origins(x=x, y=y, side=None))


def test_elsewhere_it_is_the_nearest_copper_of_each_net() -> None:
    label = origins_of(FACTS).labels.net(0, 1)

    both = told(origins(x=1.2, y=0.4, nets=("GND", label)))
    one = told(origins(x=1.2, y=0.4, nets=(label,)))
    any_net = told(origins(x=1.2, y=0.4, nets=()))

    assert both == [("top.gbr", 1, "U1.1 (GND)"), ("top.gbr", 1, "U1.2")]
    assert one == any_net == [("top.gbr", 1, "U1.2")]


def test_far_from_all_copper_it_is_the_file_of_the_side() -> None:
    assert told(origins(x=50.0, y=50.0, side="bottom")) == [
        ("bottom.gbr", 0, "the copper of the bottom")
    ]


def test_the_whole_board_is_all_files_of_copper() -> None:
    assert told(origins(x=None, y=None, side=None)) == [
        ("top.gbr", 0, "the copper of the top"),
        ("bottom.gbr", 0, "the copper of the bottom"),
    ]


def drawn_in(judged: Judged, origin: Origin) -> shapely.Geometry:
    """All that a line of a file of copper draws."""
    (layer,) = (one for one in judged.measured.board.copper if one.source == origin.source)
    return shapely.union_all(layer.objects.shape[layer.objects.line == origin.line])


def on_copper(judged: Judged) -> list[tuple[Finding, Origin]]:
    sources = {layer.source for layer in judged.measured.board.copper}
    return [
        (found, origin)
        for found in judged.report.findings
        for origin in origins_of(judged.measured).of(found)
        if origin.line
        and origin.source in sources
        and found.rule in ("uncuttable-gap", "tight-gap")
    ]


def test_what_a_line_draws_lies_half_a_gap_from_the_place() -> None:
    judged = sample("boards/hive-scale", "flat-0.8")

    apart = [
        (shapely.distance(drawn_in(judged, origin), shapely.Point(found.seen.x, found.seen.y)))
        for found, origin in on_copper(judged)
    ]

    assert len(apart) > 500
    assert np.max(apart) < 0.5  # no gap is wider than the widest cut, 0.86 mm


@pytest.mark.parametrize("rule", ["round-corner", "broken-outline"])
def test_a_fault_of_the_edge_is_in_the_file_of_the_edge(rule: str) -> None:
    judged = sample(f"rules/{rule}/bad")

    first = {origins_of(judged.measured).of(found)[0] for found in judged.report.findings}

    assert {(one.source, one.what) for one in first} == {("profile.gbr", "the edge of the board")}


def test_a_pad_in_a_pour_is_the_pad_though_the_edge_of_the_pour_is_far() -> None:
    judged = sample("rules/solid-joint/bad")
    (found, *_) = judged.report.findings

    first = origins_of(judged.measured).of(found)[0]

    assert first.what.split()[0] in found.seen.pins
    assert drawn_in(judged, first).covers(shapely.Point(found.seen.x, found.seen.y))


@pytest.mark.parametrize(
    ("path", "reference"),
    [
        ("board/top.gbr", "board/top.gbr"),
        ("a b/ü.gbr", "a%20b/%C3%BC.gbr"),
        ("c:/top.gbr", "c%3A/top.gbr"),
        ("a\n?#%.gbr", "a%0A%3F%23%25.gbr"),
        ("not utf-8 \udcff", "not%20utf-8%20%FF"),
    ],
)
def test_a_path_is_a_relative_reference(path: str, reference: str) -> None:
    assert uri(path) == reference


@pytest.mark.parametrize(
    ("here", "path"),
    [("work", "board/top.gbr"), ("work/board", "top.gbr"), (".", "work/board/top.gbr")],
)
def test_paths_are_told_from_the_working_folder(
    here: str, path: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    board = tmp_path / "work" / "board"
    board.mkdir(parents=True)
    (board / "top.gbr").write_text("")
    report = made.report(made.board())
    monkeypatch.chdir(tmp_path / here)

    named = [(board,), (board / "top.gbr", board)]

    assert [Judged(report, FACTS, paths).path("top.gbr") for paths in named] == [path, path]
