"""Parts that lie flat, against the layouts that the boards are drawn from."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import GraphicLayer
from checker.measure.whole.surface import pairs, surface_of
from samples import parts
from samples.layout import Footprint, Land, Layout
from tests.handmade import Copper, layer
from tests.joined import board_of, without_words

SHARED = Path(__file__).parents[2].parent / "shared" / "boards"

KINDS = {
    "chip": parts.chip("0805"),
    "sot": parts.sot23(),
    "soic": parts.soic(8),
    "axial": parts.axial(),
    "dip": parts.dip(8),
    "header": parts.header(2),
    "lone": Footprint((Land("1", 0, 0, 1.2, 1.2, function="SMDPad"),), (-1, -1, 1, 1)),
}


def flat(kind: str) -> bool:
    return sum(not land.hole for land in KINDS[kind].lands) > 1


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.integers(0, 3)), max_size=9))
def test_parts_are_those_with_two_pads_and_no_holes(
    tmp_path: Path, placed: list[tuple[str, int]]
) -> None:
    board = Layout("mixed", (90.0, 90.0))
    board.place(parts.header(1), "J99", 85.0, 85.0, ["GND"])
    spots = [(15 + 30 * (n % 3), 15 + 30 * (n // 3)) for n in range(len(placed))]
    for n, ((kind, turn), (x, y)) in enumerate(zip(placed, spots, strict=True), 1):
        board.place(KINDS[kind], f"X{n}", x, y, [], turn)

    found = surface_of(board_of(board, tmp_path))

    wanted = [n for n, (kind, _) in enumerate(placed) if flat(kind)]
    assert found.part == tuple(f"X{n + 1}" for n in wanted)
    assert found.pins.tolist() == [len(KINDS[placed[n][0]].lands) for n in wanted]
    for row, n in enumerate(wanted):
        lands = [pad for pad in board.pads if pad.part == f"X{n + 1}"]
        xs, ys = [pad.x for pad in lands], [pad.y for pad in lands]
        middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
        assert found.at[row] == pytest.approx(middle, abs=1e-5)
        far = np.hypot(xs[0] - xs[1], ys[0] - ys[1]) if len(lands) == 2 else np.nan
        assert found.apart[row] == pytest.approx(far, abs=1e-5, nan_ok=True)


def test_a_via_in_a_pad_is_no_lead(tmp_path: Path) -> None:
    board = Layout("tab", (40.0, 30.0))
    board.place(parts.header(2), "J1", 6.0, 15.0, ["GND", "OUT"])
    board.place(parts.chip("1206"), "C1", 25.0, 15.0, ["GND", "OUT"])
    pad = board.pads[-1]
    board.via(pad.x, pad.y, "OUT", 0.8, 0.4)

    found = surface_of(board_of(board, tmp_path))

    assert (found.part, found.pins.tolist()) == (("C1",), [2])


def test_pads_without_a_name_count_where_copper_leaves_them(tmp_path: Path) -> None:
    board = Layout("nameless", (40.0, 30.0))
    board.place(parts.header(1), "J1", 6.0, 15.0, ["A"])
    board.place(parts.chip("1206"), "C1", 25.0, 15.0, ["A", "B"])
    first = board.pads[1]
    board.track("top", 0.5, "A", (6.0, 15.0), (first.x, first.y))

    found = surface_of(board_of(board, tmp_path, without_words(board)))

    assert found.part == ()
    assert found.nameless == pytest.approx(np.array([[first.x, first.y]]), abs=1e-5)
    assert found.nameless_side.tolist() == [0]


@pytest.mark.parametrize(
    ("opened", "count"),
    [([0, 1, 2], 1), ([0, 2], 0), ([0], 1), ([], 1)],
    ids=["bare", "covered", "nearly all covered", "all covered"],
)
def test_a_mask_that_covers_a_nameless_pad_leaves_nothing_to_solder(
    opened: list[int], count: int, tmp_path: Path
) -> None:
    layout = Layout("nameless", (40.0, 30.0))
    layout.place(parts.header(1), "J1", 6.0, 15.0, ["A"])
    layout.place(parts.chip("1206"), "C1", 25.0, 15.0, ["A", "B"])
    layout.track("top", 0.5, "A", (6.0, 15.0), (layout.pads[1].x, layout.pads[1].y))
    board = board_of(layout, tmp_path, without_words(layout))
    middles = [shapely.Point(layout.pads[pad].x, layout.pads[pad].y) for pad in opened]
    drawn = layer("top", [(Copper(), middle.buffer(0.5)) for middle in middles]).objects
    masked = replace(board, graphics=(GraphicLayer("mask", "top", "mask.gbr", lambda: drawn),))

    assert len(surface_of(masked).nameless) == count


def test_two_places_are_a_pair_where_none_else_is_near() -> None:
    at = np.array([[0, 0], [0, 3], [0, 9], [9, 0], [9, 3], [9, 6], [20, 0]], float)

    assert pairs(at, 3.5).tolist() == [[0, 1]]
    assert len(pairs(at, 2.9)) == len(pairs(at[:0], 3.5)) == 0


def test_open_boards_made_for_leads_have_none() -> None:
    if not SHARED.is_dir():
        pytest.skip("no folder of open boards beside the checkout")
    from checker.read import read_board

    names = ["blinker", "gyro-fritzing", "precadsr-aux", "stepper-geda", "usbtinyisp-ss"]
    names += ["herovco-back"]
    found = [surface_of(read_board([SHARED / name])) for name in names]

    assert [one.part for one in found] == [()] * len(names)
    assert [len(one.nameless) for one in found] == [0] * len(names)
