"""Copper layers of open boards of many exporters, against an independent reader.

The boards lie beside the checkout and are never copied. areas.json beside them gives each layer's
area and islands by a reader whose chords have their corners on the curve (1 um arcs), so that its
areas are a little small.
"""

from __future__ import annotations

import json
import re
import zipfile
from typing import Any

import numpy as np
import pytest
import shapely

from checker.read.gerber import TOLERANCE, curves, flatten, parse_gerber
from tests.read.gerber.written import SHARED, needs_boards

pytestmark = needs_boards

FOLDER = SHARED / "boards"
REFERENCE: dict[str, dict[str, Any]] = (
    json.loads((FOLDER / "areas.json").read_text(encoding="utf-8")) if FOLDER.is_dir() else {}
)

# Layers whose area here is more than 0.1 % above the reference: small round pads, of which chords
# with their corners on the curve lose the most. A check below draws them finer.
ROUND_PADS = {
    ("blinker", "top0"),
    ("orangecrab-r0.2.1", "top0"),
    ("orangecrab-r0.2.1", "inner1"),
}

# Islands here where the reference counts others, and why.
OTHER_ISLANDS = {
    # Two pads touch the edge of their clearance: the reference has three islands, with corners on
    # the curve so has this reader. They are one island drawn exactly, and for any cutter.
    ("limesdr-altium", "inner0"): 1,
    # 2564 at every sagitta from 0.05 to 4 um, corners on, outside or across the curve; no two
    # islands are within 2 um of each other and none is parted by an erosion of 10 um.
    ("limesdr-altium", "bottom0"): 2564,
}

LARGE = (
    *("chibi-kicad4", "iotbank-target3001", "limesdr-altium", "minnowmax-allegro", "mppt-2420"),
    "orangecrab-r0.2.1",
)
LAYERS = [
    pytest.param(board, layer, id=f"{board}-{layer}", marks=[pytest.mark.long] * (board in LARGE))
    for board, layers in REFERENCE.items()
    for layer in layers
]


def text_of(board: str, layer: str) -> str:
    """The text of a layer's file."""
    path = FOLDER / board / str(REFERENCE[board][layer]["file"])
    return path.read_bytes().decode("latin-1")


@pytest.mark.parametrize(("board", "layer"), LAYERS)
def test_area_islands_and_extent_of_an_independent_reader(board: str, layer: str) -> None:
    reference = REFERENCE[board][layer]
    file = parse_gerber(text_of(board, layer), reference["file"])

    islands, island_of = flatten(file.objects)

    area = shapely.area(islands).sum()
    allowance = 1.2e-3 if (board, layer) in ROUND_PADS else 1e-3
    assert area == pytest.approx(reference["area_mm2"], rel=allowance)
    assert len(islands) == OTHER_ISLANDS.get((board, layer), reference["islands"])
    assert shapely.total_bounds(islands) == pytest.approx(reference["bounds"], abs=2 * TOLERANCE)
    assert shapely.is_valid(islands).all()
    assert np.array_equal(np.unique(island_of[island_of >= 0]), np.arange(len(islands)))
    assert {note.text.split(" (")[0] for note in file.notes} <= {
        "open contour, closed by a straight line"
    }


WITH_NETS = [
    (board, layer)
    for board, layers in REFERENCE.items()
    for layer, reference in layers.items()
    if reference["nets"]
]


@pytest.mark.parametrize(("board", "layer"), WITH_NETS)
def test_nets_and_pins_of_an_independent_reader(board: str, layer: str) -> None:
    text, reference = text_of(board, layer), REFERENCE[board][layer]

    objects = parse_gerber(text, reference["file"]).objects

    # The reference counts "no net" and "net of one pin" as nets, and pins without a name.
    unnamed_nets = sum(f"TO.N,{name}*" in text for name in ("", "N/C"))
    unnamed_pins = set(re.findall(r"TO\.P,([^,*]*),~?\*", text))
    assert len(np.unique(objects.net[objects.net >= 0])) == reference["nets"] - unnamed_nets
    named = objects.pin >= 0
    pins = set(zip(objects.component[named], objects.pin[named], strict=True))
    assert len(pins) == reference["pins"] - len(unnamed_pins)


@pytest.mark.parametrize(("board", "layer"), sorted(ROUND_PADS))
def test_layers_of_round_pads_keep_their_area_when_drawn_finer(
    board: str, layer: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = text_of(board, layer)
    area = shapely.area(flatten(parse_gerber(text, layer).objects)[0]).sum()

    monkeypatch.setattr(curves, "TOLERANCE", TOLERANCE / 16)
    finer = shapely.area(flatten(parse_gerber(text, layer).objects)[0]).sum()
    assert area == pytest.approx(finer, rel=1e-4)


@pytest.mark.parametrize(
    ("board", "archive"),
    [
        ("snark-barker", "SnarkBarker.zip"),
        ("pwm555", "GerberFiles-JLCPCB.zip"),
        pytest.param(
            "orangecrab-r0.2.1",
            "OrangeCrab_r0.2.1_gerbers_20200718_203451.zip",
            marks=pytest.mark.long,
        ),
    ],
)
def test_layers_in_an_archive_are_those_of_the_folder(board: str, archive: str) -> None:
    wanted = {text_of(board, layer) for layer in REFERENCE[board]}
    with zipfile.ZipFile(FOLDER / board / archive) as packed:
        texts = [packed.read(name).decode("latin-1") for name in packed.namelist()]

    found = [text for text in texts if text in wanted]
    areas = [
        shapely.area(flatten(parse_gerber(text, archive).objects)[0]).sum()
        for text in texts
        if text in wanted
    ]
    assert len(found) == len(wanted)
    assert sorted(areas) == pytest.approx(
        sorted(layer["area_mm2"] for layer in REFERENCE[board].values()), rel=1.2e-3
    )
