"""The samples are current, right as circuits, and judged as their scenario says."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import shapely

from checker.engine import check
from checker.findings import State, Verdict
from checker.process import load_profile
from checker.read import read_board
from samples import make
from samples.draw import files
from samples.layouts import tide_logger
from tests.examples import quick

if TYPE_CHECKING:
    from checker.board import Board
    from checker.findings import Report

SAMPLES = Path(__file__).parents[1] / "samples"
BOARDS = ("coop-door", "hive-scale", "tide-logger", "orchard-cam")
DEAR = {"boards/hive-scale", "boards/tide-logger"}  # to route
each_board = pytest.mark.parametrize("name", BOARDS)


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@cache
def board_of(name: str) -> Board:
    return read_board([SAMPLES / "boards" / name])


@cache
def judged(name: str, profile: str) -> Report:
    return check(board_of(name), load_profile(profile))


def without_nets(name: str, folder: Path) -> Board:
    """The board as if its layers named no nets, and neither netlist nor note came with them."""
    for path in (SAMPLES / "boards" / name).iterdir():
        if path.suffix not in (".ipc", ".yaml"):
            lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
            kept = [line for line in lines if not line.startswith(("%TO", "%TD.N", "%TD.P"))]
            (folder / path.name).write_text("".join(kept), encoding="utf-8")
    return read_board([folder])


def drawn_net_of_each_named_one(named: Board, drawn: Board) -> dict[str, set[int]]:
    """Name of a net, or "part.pin" of a lone pin -> numbers of the drawn nets its pads are on."""
    numbers = defaultdict(set)
    for layer, bare in zip(named.copper, drawn.copper, strict=True):
        tree = shapely.STRtree(bare.islands)
        objects = layer.objects
        for row, spine in enumerate(objects.spine):
            if isinstance(spine, shapely.Point):
                net = objects.name(objects.net, row)
                pin = f"{objects.name(objects.component, row)}.{objects.name(objects.pin, row)}"
                (island,) = tree.query(spine, predicate="within")
                numbers[pin if net in (None, "N/C") else net].add(int(bare.net[island]))
    return numbers


def test_every_committed_folder_is_one_that_the_script_writes() -> None:
    folders = {f"{kind}/{one.name}" for kind in make.FOLDERS for one in (SAMPLES / kind).iterdir()}

    assert folders == set(make.everything())


@pytest.mark.parametrize("part", quick(make.everything(), make.everything().keys() - DEAR))
def test_committed_files_are_what_the_script_writes(part: str, tmp_path: Path) -> None:
    make.write(tmp_path, [part])

    written, committed = contents(tmp_path / part), contents(SAMPLES / part)
    assert written.keys() == committed.keys()
    assert [name for name, data in committed.items() if written[name] != data] == []


def test_no_file_is_large() -> None:
    largest = max(path.stat().st_size for path in SAMPLES.rglob("*") if path.is_file())

    assert largest < 200_000


@each_board
def test_boards_are_read_without_a_remark(name: str) -> None:
    board = board_of(name)

    assert board.notes == ()
    assert board.unchecked == ()
    assert board.nets_from == "layer attributes"


@each_board
def test_each_net_is_one_piece_and_touches_no_other(name: str, tmp_path: Path) -> None:
    named, drawn = board_of(name), without_nets(name, tmp_path)

    numbers = drawn_net_of_each_named_one(named, drawn)

    assert drawn.nets_from == "drawn connectivity"
    assert {net: found for net, found in numbers.items() if len(found) != 1} == {}
    assert len({min(found) for found in numbers.values()}) == len(numbers)


@pytest.mark.parametrize(
    ("name", "profile", "verdict"),
    [
        ("coop-door", "cone-30-0.1", Verdict.MAKEABLE),
        ("coop-door", "cone-60-0.1", Verdict.MAKEABLE),
        ("coop-door", "flat-0.4", Verdict.MAKEABLE),
        ("hive-scale", "cone-30-0.1", Verdict.MAKEABLE),
        ("hive-scale", "flat-0.4", Verdict.NOT_MAKEABLE),
        ("tide-logger", "cone-20-0.1", Verdict.NOT_MAKEABLE),
        ("tide-logger", "cone-30-0.1", Verdict.NOT_MAKEABLE),
        ("tide-logger", "cone-60-0.1", Verdict.NOT_MAKEABLE),
        ("orchard-cam", "cone-10-0.1", Verdict.NOT_MAKEABLE),
        ("orchard-cam", "cone-30-0.1", Verdict.NOT_MAKEABLE),
        ("orchard-cam", "cone-60-0.1", Verdict.NOT_MAKEABLE),
        ("orchard-cam", "laser", Verdict.NOT_MAKEABLE),
    ],
)
def test_verdict_is_that_of_the_scenario(name: str, profile: str, verdict: Verdict) -> None:
    assert judged(name, profile).verdict is verdict


def test_coop_door_has_no_fault_in_an_ordinary_shop() -> None:
    report = judged("coop-door", "cone-30-0.1")

    assert {finding.seen.state for finding in report.findings} <= {State.REMARK}
    assert report.unchecked == ()


def test_coop_door_keeps_mains_six_millimetres_from_low_voltage() -> None:
    mains = {"LIVE", "FUSED", "UP", "DOWN", "NEUTRAL"}
    (layer,) = board_of("coop-door").copper
    names = [layer.net_name[island] in mains for island in range(len(layer.islands))]

    high = shapely.union_all([layer.islands[row] for row, is_mains in enumerate(names) if is_mains])
    low = shapely.union_all(
        [layer.islands[row] for row, is_mains in enumerate(names) if not is_mains]
    )

    assert high.distance(low) >= 6.0


def test_tide_logger_fails_a_fine_cone_by_its_pour_alone() -> None:
    causes = judged("tide-logger", "cone-30-0.1").causes

    faults = [cause for cause in causes if cause.state is State.NOT_MAKEABLE]
    assert faults != []
    assert all("the pour GND" in cause.cause for cause in faults)


def test_tide_logger_fails_a_blunt_cone_at_its_receptacle_too() -> None:
    causes = judged("tide-logger", "cone-60-0.1").causes

    faults = [cause.cause for cause in causes if cause.rule == "uncuttable-gap"]
    assert any("J1" in cause for cause in faults)


@pytest.mark.long
def test_tide_logger_with_a_wider_clearance_is_marginal(tmp_path: Path) -> None:
    for name, text in files(tide_logger.layout(clearance=0.3)).items():
        (tmp_path / name).write_text(text, encoding="utf-8")

    report = check(read_board([tmp_path]), load_profile("cone-30-0.1"))

    assert report.verdict is Verdict.MARGINAL
    assert {"tight-gap", "crowded-joint"} <= {cause.rule for cause in report.causes}


def test_orchard_cam_has_too_many_layers_and_too_fine_a_package() -> None:
    report = judged("orchard-cam", "cone-60-0.1")

    rules = {finding.rule for finding in report.findings}
    pins = {pin for f in report.findings if f.rule == "uncuttable-gap" for pin in f.seen.pins}
    assert {"excess-layers", "uncuttable-gap"} <= rules
    assert any(pin.startswith("U1.") for pin in pins)
