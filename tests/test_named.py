from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker import named as named_things
from checker.board import Kind, Pin
from checker.labels import Labels, natural
from checker.named import FEW, NamedThing, NamedThings
from tests.built import built
from tests.handmade import Copper, Gap, facts

SIDES = st.sampled_from(["top", "bottom", None])
LENGTH = st.floats(-50, 50)
THINGS = st.lists(
    built(
        lambda name, side, x, y, w, h: NamedThing(name, side, (x, y, x + w, y + h)),
        st.sampled_from("ABCDEF"),
        SIDES,
        LENGTH,
        LENGTH,
        st.floats(0, 5),
        st.floats(0, 5),
    ),
    max_size=20,
)


def on(side: str | None, thing: NamedThing) -> bool:
    return side is None or thing.side is None or thing.side == side


@pytest.fixture(params=[FEW, 0], ids=["few", "many"])
def few(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    """With every thing looked at, and with a tree."""
    monkeypatch.setattr(named_things, "FEW", request.param)
    return int(request.param)


either_way = pytest.mark.usefixtures("few")
same_for_all = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])


@either_way
@same_for_all
@given(THINGS, LENGTH, LENGTH, SIDES, st.floats(0, 60))
def test_nearest_is_what_a_look_at_every_thing_finds(
    things: list[NamedThing], x: float, y: float, side: str | None, within: float
) -> None:
    found = NamedThings(things).nearest(x, y, side, within)

    distances = [thing.distance(x, y) for thing in things if on(side, thing)]
    least = min(distances, default=math.inf)
    assert (found is None) == (round(least, named_things._DIGITS) > within)
    assert found is None or found.distance(x, y) == pytest.approx(least, abs=1e-9)


@either_way
def test_of_things_equally_near_the_first_by_name_is_told() -> None:
    named = NamedThings(NamedThing(name, None, (0, 0, 0, 0)) for name in "BCA")

    found = named.nearest(1, 0)

    assert found is not None
    assert found.name == "A"


def test_a_pad_without_attributes_is_named_by_the_netlists_point_on_it() -> None:
    gap = Gap(0.2, at=(0.35, 0.0))  # pads of 0.5 mm about (0, 0) and (0.7, 0)
    on_pad = Pin("VCC", "U1", "3", 0.1, 0.1, None)
    beside = Pin("GND", "U1", "4", 0.7, 0.4, "top")
    labels = Labels(facts([gap], pins=[on_pad, beside]).board)

    assert labels.pin(0, 0) == "U1.3"
    assert labels.pin(0, 1) is None


def test_of_several_points_on_a_pad_the_first_by_name_counts() -> None:
    points = [Pin("VCC", name, "1", 0.1, 0.1, None) for name in ("U2", "U1", "U3")]
    labels = Labels(facts([Gap(0.2, at=(0.35, 0.0))], pins=points).board)

    assert labels.pin(0, 0) == "U1.1"


def test_a_netlists_point_on_the_other_side_names_nothing() -> None:
    point = Pin("VCC", "U1", "3", 0.1, 0.1, "bottom")
    labels = Labels(facts([Gap(0.2, at=(0.35, 0.0))], pins=[point]).board)

    assert labels.pin(0, 0) is None


@pytest.mark.parametrize(
    ("copper", "words"),
    [
        (Copper(Kind.PAD, "VCC", "U1", "3"), "U1.3 (VCC)"),
        (Copper(Kind.PAD, None, "U1", "3"), "U1.3"),
        (Copper(Kind.PAD, "VCC", "J1"), "J1 (VCC)"),
        (Copper(Kind.PAD, "VCC"), "the pad VCC"),
        (Copper(Kind.TRACE, "CLK"), "the trace CLK"),
        (Copper(Kind.POUR, "GND"), "the pour GND"),
        (Copper(Kind.TRACE), "a trace"),
        (Copper(None, "GND"), "copper of GND"),
        (Copper(None), "copper"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_copper_is_called_what_is_known_of_it(copper: Copper, words: str) -> None:
    board = facts([Gap(0.2, a=copper)]).board
    row = -1 if copper.kind is None else 0

    assert Labels(board).standing(0, row, 0) == words


def test_a_net_without_a_name_is_told_by_its_first_place_whatever_the_order() -> None:
    gaps = [Gap(0.3, at=(5.0, 1.0)), Gap(0.3, at=(1.0, 1.0))]

    names = [
        sorted(Labels(facts(order).board).net(0, island) for island in range(4))
        for order in (gaps, gaps[::-1])
    ]

    assert names[0] == names[1]
    assert names[0][0] == "net at 0.6, 1.0"


def test_names_with_numbers_sort_as_people_count() -> None:
    assert sorted(["C10", "C2", "R1", "C2A"], key=natural) == ["C2", "C2A", "C10", "R1"]


def test_a_name_too_far_away_is_no_help() -> None:
    point = Pin("VCC", "U1", "3", 20.0, 0.0, None)
    board = replace(facts([Gap(0.2)]).board, pins=(point,))

    assert Labels(board).near(0.0, 0.0, "top") is None
    assert Labels(board).near(17.0, 0.0, "top") == "U1.3"
