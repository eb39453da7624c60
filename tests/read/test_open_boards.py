"""Open boards of many exporters, read as they are; data of others, never copied here.

Expected values: roles.json (hand-checked), areas.json (an independent reader, its areas confirmed
by a second one and a raster renderer) and the table of hole counts, all beside the boards.
"""

from __future__ import annotations

import zipfile
from pathlib import Path

import numpy as np
import pytest

from checker.board import Board
from checker.read import read_board
from tests.read.made import BOARDS, needs_boards, reference

pytestmark = needs_boards

BIG = ("limesdr-altium", "minnowmax-allegro", "orangecrab-r0.2.1", "iotbank-target3001")
MEDIUM = (
    *("carte-test", "chibi-kicad4", "clockblock", "freeduino", "gyro-fritzing", "herovco-back"),
    *("microspora", "mppt-2420", "openbci-cyton", "snark-barker", "stepper-geda"),
)
SMALL = (
    *("blinker", "ds3231-breakout", "freevse", "hotpi", "librepcb-test", "mainboard-diptrace"),
    *("pdstepper-power", "pmw3360-fusion", "precadsr-aux", "pwm555", "simplefoc-shield"),
    "usbtinyisp-ss",
)
every_board = [
    *SMALL,
    *(pytest.param(name, marks=pytest.mark.long) for name in (*MEDIUM, *BIG)),
]

# Drilled holes and slots, from the table beside the boards. Where two files name the same via,
# it counts once here: microspora 415 lines, 185 of them twice; simplefoc-shield 212, 84 twice.
HOLES = {
    "blinker": 28,
    "chibi-kicad4": 342,
    "clockblock": 224,
    "ds3231-breakout": 25,
    "freeduino": 176,
    "gyro-fritzing": 482,
    "herovco-back": 187,
    "hotpi": 113,
    "iotbank-target3001": 436,
    "limesdr-altium": 4258,
    "mainboard-diptrace": 168,
    "microspora": 415 - 185,
    "minnowmax-allegro": 1991,
    "mppt-2420": 476,
    "openbci-cyton": 157,
    "orangecrab-r0.2.1": 512,
    "precadsr-aux": 68,
    "pwm555": 34,
    "simplefoc-shield": 212 - 84,
    "snark-barker": 1055,
    "stepper-geda": 277,
    "usbtinyisp-ss": 88,
}
# Width and height in mm, from the same table; only boards whose files give the edge.
SIZES = {
    "blinker": (25.7, 20.3),
    "carte-test": (101.6, 99.7),
    "chibi-kicad4": (100.0, 78.0),
    "clockblock": (104.1, 106.7),
    "ds3231-breakout": (32.0, 21.5),
    "freevse": (54.9, 106.7),
    "gyro-fritzing": (97.0, 97.9),
    "herovco-back": (94.0, 156.0),
    "hotpi": (90.0, 140.0),
    "iotbank-target3001": (65.0, 72.1),
    "librepcb-test": (152.9, 112.0),
    "mainboard-diptrace": (85.3, 53.3),
    "microspora": (33.2, 31.9),
    "mppt-2420": (114.5, 60.5),
    "openbci-cyton": (61.4, 61.3),
    "orangecrab-r0.2.1": (50.8, 22.9),
    "pdstepper-power": (26.1, 22.7),
    "pmw3360-fusion": (25.0, 32.0),
    "precadsr-aux": (44.0, 150.0),
    "pwm555": (40.0, 30.0),
    "simplefoc-shield": (55.4, 53.3),
    "snark-barker": (231.1, 106.7),
}
# Two files whose listed role is not the one taken, and why; each is told to the user in a note.
#   group3 holds jumper traces and pads, no closed line round the copper: it is not identified.
TOLD = {("stepper-geda", "controller.group3.gbr")}


@pytest.fixture(scope="module", params=every_board)
def named_board(request: pytest.FixtureRequest) -> tuple[str, Board]:
    """Each board, read once for all tests that look at it."""
    return request.param, read_board([BOARDS / request.param])


def expected_labels(role: str) -> set[str]:
    """The labels that mean a role of roles.json."""
    drills = {"drill", "plated-drill"}
    special = {"drill": drills, "npth": {"drill", "unplated-drill"}}
    if role == "inner":
        return {f"inner{n}" for n in range(1, 32)}
    return special.get(role, {role.replace("_", "-")})


def test_roles(named_board: tuple[str, Board]) -> None:
    name, board = named_board
    found = dict(board.sources)

    wrong = {
        (file, role, found[file])
        for role, files in reference("roles.json")[name].items()
        for file in files
        if found[file] not in expected_labels(role) and (name, file) not in TOLD
    }

    assert wrong == set()


def test_copper_areas_and_islands(named_board: tuple[str, Board]) -> None:
    name, board = named_board
    layers = {entry["file"]: entry for entry in reference("areas.json")[name].values()}

    assert {layer.source for layer in board.copper} == set(layers)
    for layer in board.copper:
        area = sum(island.area for island in layer.islands)
        # The listed areas have inscribed arcs: below the true ones by up to 0.1 %.
        assert area == pytest.approx(layers[layer.source]["area_mm2"], rel=1.5e-3)
        # Pieces that touch within the chord tolerance are one here and two there, or the reverse.
        assert len(layer.islands) == pytest.approx(layers[layer.source]["islands"], abs=2)


def test_holes_and_size(named_board: tuple[str, Board]) -> None:
    name, board = named_board

    assert len(board.holes) == HOLES.get(name, len(board.holes))
    if name in SIZES:
        assert board.outline is not None
        assert board.size == pytest.approx(SIZES[name], abs=0.1)


def test_holes_lie_on_the_board(named_board: tuple[str, Board]) -> None:
    _, board = named_board
    points = np.array([point for hole in board.holes for point in hole.path]).reshape(-1, 2)
    boxes = np.array([island.bounds for layer in board.copper for island in layer.islands])

    assert (points >= boxes[:, :2].min(0) - 6).all()
    assert (points <= boxes[:, 2:].max(0) + 6).all()


@pytest.mark.parametrize("name", ["pwm555"])
def test_archive_and_folder_are_the_same_board(name: str) -> None:
    (archive,) = (BOARDS / name).glob("*.zip")

    zipped, loose = read_board([archive]), read_board([BOARDS / name])

    assert zipped.sides == loose.sides
    for one, other in zip(zipped.copper, loose.copper, strict=True):
        assert sum(i.area for i in one.islands) == pytest.approx(
            sum(i.area for i in other.islands), rel=1e-3
        )


@pytest.mark.long
@pytest.mark.parametrize("name", ["orangecrab-r0.2.1", "snark-barker"])
def test_archives_of_large_boards(name: str) -> None:
    (archive,) = (BOARDS / name).glob("*.zip")

    zipped, loose = read_board([archive]), read_board([BOARDS / name])

    assert zipped.sides == loose.sides
    assert len(zipped.holes) == len(loose.holes)
    assert zipped.nets_from in (loose.nets_from, "layer attributes")


def test_packed_board_reads_as_the_folder(named_board: tuple[str, Board], tmp_path: Path) -> None:
    name, loose = named_board
    archive = tmp_path / f"{name}.zip"
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as out:
        for path in (BOARDS / name).rglob("*"):
            if path.is_file() and path.suffix != ".zip":
                out.write(path, path.relative_to(BOARDS / name).as_posix())

    packed = read_board([archive])

    assert packed.sources == tuple(s for s in loose.sources if not s[0].endswith(".zip"))
    assert packed.holes == loose.holes
    assert packed.size == loose.size


@pytest.mark.long
@pytest.mark.parametrize(("name", "share"), [("snark-barker", 0.99), ("minnowmax-allegro", 0.99)])
def test_netlist_agrees_with_drawn_connectivity(name: str, share: float) -> None:
    """IPC-D-356 names, made by the layout program, against what copper and holes join."""
    folder = BOARDS / name
    board = read_board([folder])
    netlist = next(source for source, role in board.sources if role == "netlist")

    drawn = read_board([folder], {"ignore": netlist})

    by_name, by_copper = [], []
    for one, other in zip(board.copper, drawn.copper, strict=True):
        for island, net in enumerate(one.net_name):
            if net is not None:
                by_name.append(int(one.net[island]))
                by_copper.append(int(other.net[island]))
    pairs = len(set(zip(by_name, by_copper, strict=True)))
    assert drawn.nets_from == "drawn connectivity"
    assert board.nets_from == "netlist file"
    assert len(set(by_name)) >= share * pairs  # a net falls into few pieces
    assert len(set(by_copper)) >= share * pairs  # and no piece holds several nets
