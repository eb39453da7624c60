"""What the rules on gaps call a cause: one name for places that one change of the layout mends."""

from __future__ import annotations

import pytest

from checker.board import Kind
from tests.handmade import Copper, Gap, cutting, facts, seen

NAME = "uncuttable-gap"


def causes(*pairs: tuple[Copper, Copper]) -> set[str]:
    """The causes of gaps of 0.15 mm between these, each pair somewhere of its own."""
    gaps = [Gap(0.15, a=a, b=b, at=(0.0, 5.0 * k)) for k, (a, b) in enumerate(pairs)]
    return {found.cause for found in seen(NAME, facts(gaps), cutting(0.2))}


def pads_of(*parts: str) -> list[tuple[Copper, Copper]]:
    return [
        (Copper(component=part, pin="1", net=f"{part}A"), Copper(component=part, pin="2"))
        for part in parts
    ]


@pytest.mark.parametrize(
    ("parts", "cause"),
    [
        (["U1"], "pads of U1, 0.15 mm apart"),
        (["U1", "U2"], "pads of U1 and U2, 0.15 mm apart"),
        (["U1", "U2", "U3"], "pads of U1, U2 and U3, 0.15 mm apart"),
        (["U1", "U2", "U3", "U4"], "pads of U1, U2, U3 and U4, 0.15 mm apart"),
        (["U1", "U2", "U3", "U4", "U5"], "pads of U1, U2, U3 and 2 more, 0.15 mm apart"),
        (["U1", "U2", "U3", "U4", "U5", "U6"], "pads of U1, U2, U3 and 3 more, 0.15 mm apart"),
    ],
)
def test_parts_are_named_up_to_three_and_then_counted(parts: list[str], cause: str) -> None:
    assert causes(*pads_of(*parts)) == {cause}


GND, VCC = Copper(Kind.POUR, net="GND"), Copper(Kind.POUR, net="VCC")
PAD, TRACE = Copper(net="A"), Copper(Kind.TRACE, net="B")


@pytest.mark.parametrize(
    ("pairs", "cause"),
    [
        ([(PAD, GND)], "clearance 0.15 mm between pads and the pour GND"),
        ([(GND, PAD)], "clearance 0.15 mm between pads and the pour GND"),
        ([(PAD, GND), (PAD, VCC)], "clearance 0.15 mm between pads and pours"),
        ([(PAD, Copper(Kind.POUR))], "clearance 0.15 mm between pads and pours"),
        ([(TRACE, GND)], "clearance 0.15 mm between traces and the pour GND"),
        ([(GND, VCC)], "pours 0.15 mm apart"),
        ([(PAD, TRACE)], "pads and traces 0.15 mm apart"),
        ([(TRACE, Copper(Kind.TRACE))], "traces 0.15 mm apart"),
    ],
)
def test_kinds_of_copper_are_named_and_a_pour_that_is_alone_by_its_net(
    pairs: list[tuple[Copper, Copper]], cause: str
) -> None:
    assert causes(*pairs) == {cause}
