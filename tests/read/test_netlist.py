import pytest

from checker.read.netlist import parse_netlist


def record(op: str, net: str, ref: str, pin: str, hole: str, access: str, place: str) -> str:
    """Columns of IPC-D-356A: 1-3 op, 4-17 net, 21-26 part, 28-31 pin, 33-38 hole, 39 access."""
    return f"{op}{net:<14}   {ref:<6}-{pin:<4} {hole:<6}{access}{place}X0600Y0600R000 S0"


# 1000 steps of 0.0001 inch are 2.54 mm; CUST 1 counts micrometres (IPC-D-356A, P UNITS).
@pytest.mark.parametrize(
    ("units", "expected"),
    [
        ("CUST 0", (2.54, -5.08)),
        ("CUST 1", (1.0, -2.0)),
        ("CUST 2", (2.54, -5.08)),
        ("SI", (1.0, -2.0)),
    ],
)
def test_units(units: str, expected: tuple[float, float]) -> None:
    text = f"P  UNITS {units}\n" + record("327", "VCC", "U1", "3", "", "A01", "X+001000Y-002000")

    (point,) = parse_netlist(text, "n").points

    assert (point.x, point.y) == pytest.approx(expected)


def test_fields_of_a_through_hole_record() -> None:
    text = record("317", "/DATA0", "J12", "A7", "D0394P", "A00", "X+012000Y+003400") + "\n999\n"

    (point,) = parse_netlist(text, "n").points

    assert (point.net, point.component, point.pin) == ("/DATA0", "J12", "A7")
    assert point.hole == pytest.approx(1.00076)  # 0.0394 inch
    assert point.layer == 0


def test_via_is_no_component() -> None:
    (point,) = parse_netlist(record("317", "A", "VIA", "", "", "A00", "X+1Y+1"), "n").points

    assert point.component == ""


def test_long_names_by_alias() -> None:
    text = "P  NNAME00001 A_VERY_LONG_NET_NAME_INDEED\n" + record(
        "327", "NNAME00001", "U1", "1", "", "A01", "X+000100Y+000100"
    )

    assert parse_netlist(text, "n").points[0].net == "A_VERY_LONG_NET_NAME_INDEED"


def test_sides_by_access_layer() -> None:
    lines = [record("327", "A", "U1", "1", "", f"A0{n}", f"X+00{n}000Y+001000") for n in range(5)]
    netlist = parse_netlist("\n".join(lines), "n")

    assert [pin.side for pin in netlist.pins(4)] == [None, "top", "inner 1", "inner 2", "bottom"]


def test_second_access_of_a_two_number_file_is_the_bottom() -> None:
    lines = [record("327", "A", "U1", "1", "", f"A0{n}", f"X+00{n}000Y+001000") for n in (1, 2)]
    netlist = parse_netlist("\n".join(lines), "n")

    assert [pin.side for pin in netlist.pins(2)] == ["top", "bottom"]
    assert [pin.side for pin in netlist.pins(4)] == ["top", "bottom"]


def test_unplated_holes_and_other_records_are_passed_over_and_nothing_follows_999() -> None:
    text = "\n".join(
        [
            "C  a comment",
            "P  UNITS CUST 0",
            "378VCC            L01 X0100 X+001000Y+001000 X+002000Y+001000",
            "078            X+002000Y+002000",
            "379A             B",
            "389BOARD_EDGE        X+000000Y+000000",
            record("367", "", "", "", "D1250U", "A00", "X+001000Y+001000"),
            "999",
            record("317", "LATE", "U1", "1", "", "A00", "X+001000Y+001000"),
        ]
    )

    netlist = parse_netlist(text, "n")

    assert netlist.points == ()
    assert netlist.notes == ()


def test_record_without_a_place_is_noted() -> None:
    netlist = parse_netlist("P  UNITS CUST 0\n317VCC              U1    -1\n", "n")

    assert netlist.points == ()
    assert netlist.notes[0].line == 2
