from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker import check, load_profile, read_board
from checker.board import GraphicLayer, Kind, Unchecked
from checker.findings import State
from checker.measure import Reach, measure
from checker.process.model import Process
from tests.coppered import Drawn, coppered, disk, drilled
from tests.handmade import PLAIN, Copper, Gap, Neck, facts, layer, rule, seen
from tests.read.made import chain, gerber, write

if TYPE_CHECKING:
    from pathlib import Path

NAME = "thin-copper"
MM_PER_MIL = 0.0254  # exact, the inch being 25.4 mm


def keeping(minimum_trace: float, short_neck: float = 1.0) -> Process:
    return replace(PLAIN, minimum_trace=minimum_trace, short_neck=short_neck)


@pytest.mark.parametrize(
    ("width", "caught"),
    [(0.1949, True), (0.1951, False), (0.2, False), (0.21, False)],
    ids=["below", "within the error of drawing", "exactly", "above"],
)
def test_a_trace_of_just_the_minimum_passes(width: float, caught: bool) -> None:
    assert len(seen(NAME, facts(necks=[Neck(width)]), keeping(0.2))) == caught


@pytest.mark.parametrize(("mils", "caught"), [(10, True), (12, False)], ids=["10 mil", "12 mil"])
def test_the_minimum_that_university_services_print(mils: float, caught: bool) -> None:
    # "PCB services", design rules, Michigan State University: 12 mil traces at least.
    neck = Neck(mils * MM_PER_MIL)

    assert len(seen(NAME, facts(necks=[neck]), keeping(12 * MM_PER_MIL))) == caught


@pytest.mark.parametrize(
    ("length", "state"),
    [(0.9, State.MARGINAL), (1.0, State.MARGINAL), (1.1, State.NOT_MAKEABLE)],
    ids=["shorter", "exactly", "longer"],
)
def test_a_short_neck_is_marginal(length: float, state: State) -> None:
    (found,) = seen(NAME, facts(necks=[Neck(0.15, length)]), keeping(0.2, short_neck=1.0))

    assert found.state is state


def test_copper_that_carries_nothing_on_is_left_out() -> None:
    assert seen(NAME, facts(necks=[Neck(0.1, carries=False)]), keeping(0.2)) == []


@pytest.mark.parametrize(
    ("files", "caught"),
    [({}, 1), ({"b.drl": "M48\nMETRIC,TZ\nT1C1.0\n%\nT1\nX20.0Y2.0\nM30\n"}, 0)],
    ids=["no drill file", "holes elsewhere"],
)
def test_copper_of_strokes_alone_is_lettering_only_where_holes_are_known(
    tmp_path: Path, files: dict[str, str], caught: int
) -> None:
    """Two pads drawn as strokes of 1 mm and a trace of 0.1 mm between them."""
    pads = [chain((x, 2), (x, 4), pen=10) for x in (2, 12)]
    copper = gerber(*pads, chain((2, 3), (12, 3)), function="Copper,L1,Top")
    board = read_board([write(tmp_path, {"b.gtl": copper, **files})])

    found = check(board, load_profile("cone-30-0.1")).findings

    assert [one.rule for one in found].count(NAME) == caught


# A pour with a lug of 0.2 mm on a neck of 0.1 mm; a lug of 0.3 mm could be soldered to.
@pytest.mark.parametrize(
    ("lug", "kind", "caught"),
    [(0.2, Kind.POUR, 0), (0.3, Kind.POUR, 1), (0.2, Kind.TRACE, 1)],
    ids=["tip", "wide enough", "of traces"],
)
def test_a_tip_of_a_pour_carries_nothing(lug: float, kind: Kind, caught: int) -> None:
    shape = shapely.union_all(
        [shapely.box(0, 0, 5, 5), shapely.box(4, 2, 6, 2.1), shapely.box(6, 2, 6 + lug, 2 + lug)]
    )
    board = coppered(drilled(1, 1, 0.8), top=[Drawn(shape, "GND", kind)]).board

    found = seen(NAME, measure(board, Reach(copper=0.3)), keeping(0.25))

    assert len(found) == caught


@pytest.mark.parametrize(
    ("opened", "state"),
    [
        (None, State.NOT_MAKEABLE),
        ([], State.NOT_MAKEABLE),
        ([(2, 2)], State.MARGINAL),
        ([(2, 2), (8, 2)], State.NOT_MAKEABLE),
    ],
    ids=["no mask", "a mask over the pad too", "nothing to solder", "a pad drawn as a region"],
)
def test_a_long_neck_to_copper_that_joins_nothing_is_marginal(
    opened: list[tuple[float, float]] | None, state: State
) -> None:
    pour = shapely.union_all([shapely.box(*box) for box in ((0, 0, 5, 5), (7, 1, 9, 3))])
    pour |= shapely.box(4.9, 2.0, 7.1, 2.2)
    copper = [Drawn(pour, "GND", Kind.POUR), Drawn(disk(2, 2, 1.5), "GND")]
    board = coppered(drilled(2, 2, 0.8), top=copper).board
    if opened is not None:
        places = [(Copper(), shapely.Point(at).buffer(0.5)) for at in opened]
        drawn = layer("top", places).objects
        mask = GraphicLayer("mask", "top", "mask.gbr", lambda: drawn)
        board = replace(board, graphics=(mask,))

    (found,) = seen(NAME, measure(board, Reach(cut=0.0, copper=0.3)), keeping(0.25))

    assert found.state is state
    assert ("it leads nowhere" in found.message) == (state is State.MARGINAL)


def test_a_pad_that_is_narrow_itself_is_left_out() -> None:
    assert seen(NAME, facts(necks=[Neck(0.1, kind=Kind.PAD)]), keeping(0.2)) == []


@given(st.lists(st.floats(0.01, 1.0), max_size=8), st.floats(0.01, 1), st.floats(0.01, 1))
def test_a_larger_minimum_never_passes_more(
    widths: list[float], minimum: float, other: float
) -> None:
    board = facts(necks=[Neck(w, at=(3.0 * i, 0)) for i, w in enumerate(widths)])
    low, high = sorted((minimum, other))

    assert {one.x for one in seen(NAME, board, keeping(low))} <= {
        one.x for one in seen(NAME, board, keeping(high))
    }


def test_the_message_tells_width_length_net_and_place() -> None:
    pad = Copper(Kind.PAD, "VCC", "R4", "2")
    board = facts(
        [Gap(2.0, a=pad, b=pad, at=(3.0, 0.0))], [Neck(0.15, 2.34, net="CLK", at=(1.0, 0.5))]
    )

    (found,) = seen(NAME, board, keeping(0.2))

    assert found.message == (
        "Trace 0.150 mm wide over 2.3 mm, copper survives from 0.200 mm: CLK, near R4.2"
    )
    assert found.remedy == "Widen it by 0.05 mm"
    assert (found.x, found.y, found.side, found.nets) == (1.0, 0.5, "top", ("CLK",))
    assert (found.measured, found.limit) == (0.15, 0.2)


@pytest.mark.parametrize(("length", "told"), [(0.04, "wide, copper"), (0.06, "wide over 0.1 mm, ")])
def test_a_spot_has_no_length(length: float, told: str) -> None:
    (found,) = seen(NAME, facts(necks=[Neck(0.15, length)]), keeping(0.2))

    assert told in found.message


def test_a_pour_is_mended_by_its_setting() -> None:
    (found,) = seen(NAME, facts(necks=[Neck(0.15, kind=Kind.POUR)]), keeping(0.2))

    assert found.message.startswith("Neck of a pour 0.150 mm wide")
    assert found.remedy == "Give the pour a minimum width of 0.20 mm"


def test_one_width_of_one_kind_is_one_cause() -> None:
    necks = [Neck(0.15, at=(3.0 * i, 0)) for i in range(9)]
    necks += [Neck(0.15, 0.5, kind=Kind.POUR, at=(3.0 * i, 5)) for i in range(9)]

    found = seen(NAME, facts(necks=necks), keeping(0.2))

    assert {one.cause for one in found} == {
        "traces 0.15 mm wide",
        "short necks of pours 0.15 mm wide",
    }


def test_a_profile_without_a_minimum_leaves_it_unchecked() -> None:
    answer = list(rule(NAME).check(facts(necks=[Neck(0.1)]), replace(PLAIN, minimum_trace=None)))

    assert [type(one) for one in answer] == [Unchecked]
