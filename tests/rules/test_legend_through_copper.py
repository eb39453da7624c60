from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.board import GraphicLayer, Kind
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.read import read_board
from tests.handmade import PLAIN, Copper, layer, rule, seen, spread
from tests.milled import MILLED, facts_of

NAME = "legend-through-copper"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME
ENGRAVING = replace(MILLED, legend_depth=0.09, foil=spread(0.035, 0.0035))


def lettered(side: str = "bottom") -> Facts:
    """A track of 1 mm and one stroke across it."""
    stroke = shapely.LineString([(4, -2), (4, 2)])
    objects = layer(side, [(Copper(Kind.TRACE), stroke.buffer(0.08))]).objects
    spine = np.empty(1, object)
    spine[0] = stroke
    objects = replace(objects, spine=spine, pen=np.array([0.16]))
    legend = GraphicLayer("legend", side, "legend.gbr", lambda: objects)
    track = shapely.box(-10, -0.5, 10, 0.5)
    return facts_of([(Copper(Kind.TRACE, "CLK"), track)], graphics=(legend,))


# 1 oz/ft2 of copper is 0.035 mm thick, less 10 % (IPC-4562).
@pytest.mark.parametrize(("depth", "caught"), [(0.02, 0), (0.031, 0), (0.032, 1), (0.09, 1)])
def test_a_legend_as_deep_as_the_foil_is_thick_is_told(depth: float, caught: int) -> None:
    assert len(seen(NAME, lettered(), replace(ENGRAVING, legend_depth=depth))) == caught


def test_the_message_tells_depth_foil_and_net() -> None:
    (told,) = seen(NAME, lettered(), ENGRAVING)

    # 1 mm of track and half a cut of 0.2 mm on both sides.
    assert told.message == "Legend 0.090 mm deep over 1.2 mm of copper that is 0.032 mm thick: CLK"
    assert told.remedy.startswith("Engrave the legend 0.01 mm deep")
    assert (told.x, told.y) == pytest.approx((4, 0), abs=1e-6)
    assert (told.side, told.state, told.nets) == ("bottom", State.NOT_MAKEABLE, ("CLK",))
    assert told.cause == "legend engraved through the copper of 1 net"


def test_a_legend_on_the_other_side_parts_nothing() -> None:
    assert seen(NAME, lettered("top"), ENGRAVING) == []


def test_a_legend_that_is_not_engraved_parts_nothing() -> None:
    assert list(rule(NAME).check(lettered(), replace(ENGRAVING, legend_depth=None))) == []


def test_wires_on_a_drilled_board_have_no_copper_to_part() -> None:
    drilled = replace(PLAIN, cut=None, legend_depth=0.09)

    assert list(rule(NAME).check(lettered(), drilled)) == []


def test_the_sample_tells_both_lines_under_the_legend() -> None:
    process = load_profile(SAMPLE / "bad" / "profile.yaml")

    found = check(read_board([SAMPLE / "bad"]), process).findings

    assert sorted(one.seen.nets for one in found) == [("IN",), ("OUT",)]
    assert {one.seen.side for one in found} == {"top"}
    (name,) = (one.seen for one in found if one.seen.nets == ("IN",))
    assert 14 < (name.x or 0) < 18
