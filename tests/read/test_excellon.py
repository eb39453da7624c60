"""Small drill files that re-create what exporters do.

Facts used, from IPC-NC-349 and its subset XNC (revision 2021.11): header M48 to % or M95; INCH and
METRIC; LZ and TZ say which zeros are kept; T<n>C<diameter>; G85 a slot between two points; G05
drilling; G00 M15 ... M16 or M17 a routed path; G02/G03 clockwise/counter-clockwise arcs with
radius A or centre I, J; R<n> repeats the last hole; M71/M72 metric/inch; M30 or M00 ends.
"""

import math

import pytest

from checker.board import Hole
from checker.errors import ReadError
from checker.read.excellon import INCH, NumberFormat, parse_drill
from checker.read.machine import drill_holes

MM = NumberFormat(1.0, 3, 3)


def holes(text: str, numbers: NumberFormat = MM) -> list[Hole]:
    return drill_holes(parse_drill(text, "d"), numbers)


def points(text: str, numbers: NumberFormat = MM) -> list[tuple[float, float]]:
    return [hole.path[0] for hole in holes(text, numbers)]


def body(*lines: str, head: str = "METRIC,TZ", tool: str = "T1C0.8") -> str:
    return "\n".join(["M48", head, tool, "%", "T1", *lines, "M30"])


@pytest.mark.parametrize(
    ("numbers", "raw", "expected"),
    [
        (NumberFormat(INCH, 2, 4), "15000", 38.1),  # 1.5 in, leading zeros left out
        (NumberFormat(INCH, 2, 4, leading=True), "015", 38.1),  # 1.5 in, trailing zeros left out
        (NumberFormat(INCH, 2, 4, leading=True), "01", 25.4),
        (NumberFormat(INCH, 2, 4, leading=True), "0", 0.0),
        (NumberFormat(1.0, 3, 3), "3175", 3.175),
        (NumberFormat(1.0, 3, 3), "-3175", -3.175),
        (NumberFormat(1.0, 3, 3), "+3175", 3.175),
        (NumberFormat(1.0, 4, 4, leading=True), "00248233", 24.8233),
        (NumberFormat(1.0, 4, 4, leading=True), "00242", 24.2),
        (NumberFormat(INCH, 2, 4), "1.5", 38.1),  # a written point overrides the format
        (NumberFormat(1.0, 3, 3, leading=True), "-.5", -0.5),
    ],
)
def test_number_formats(numbers: NumberFormat, raw: str, expected: float) -> None:
    assert numbers.length(raw) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("head", "unit", "digits", "leading"),
    [
        ("INCH,TZ", INCH, (None, None), False),
        ("METRIC,LZ", 1.0, (None, None), True),
        ("METRIC,LZ,000.000", 1.0, (3, 3), True),
        ("METRIC,0000.00000", 1.0, (4, 5), None),
        ("M71", 1.0, (None, None), None),
        ("M72\nINCH,LZ", INCH, (None, None), True),
        (";FILE_FORMAT=4:4\nMETRIC,LZ", 1.0, (4, 4), True),
        (";FORMAT={2:4/ absolute / inch / keep zeros}", INCH, (2, 4), None),
        ("; FORMAT={-:-/ absolute / metric / decimal}", 1.0, (None, None), None),
        (";FORMAT={3:3/ absolute / metric / suppress leading zeros}", 1.0, (3, 3), False),
        (";FORMAT={3:3/ absolute / metric / suppress trailing zeros}", 1.0, (3, 3), True),
    ],
)
def test_headers(
    head: str, unit: float, digits: tuple[int | None, int | None], leading: bool | None
) -> None:
    header = parse_drill(body("X1Y1", head=head), "d").header

    assert header.unit == unit
    assert (header.whole, header.fraction) == digits
    assert header.leading is leading


def test_header_ends_at_percent_or_m95() -> None:
    text = "M48\nMETRIC\nT1C0.8\nM95\nT1\nX1.0Y2.0\nM30\n"

    assert points(text) == [(1.0, 2.0)]


def test_percent_and_g81_before_the_header() -> None:
    text = "%\nG81\n" + body("X1.0Y2.0")

    assert points(text) == [(1.0, 2.0)]


def test_statements_to_the_machine_draw_nothing() -> None:
    head = "R,T\nVER,1\nFMAT,2\nMETRIC,TZ\nTCST,OFF\nICI,OFF\nATC,ON\nDETECT,ON"

    file = parse_drill(body("M47", "G05", "M71", "X1.0Y2.0", head=head), "d")

    assert [hole.path[0] for hole in drill_holes(file, MM)] == [(1.0, 2.0)]
    assert file.notes == ()


def test_modal_coordinates_and_repeats() -> None:
    text = body("X1.0Y2.0", "X3.0", "Y5.0", "R02X1.0", "R1Y-.5")

    assert points(text) == [(1, 2), (3, 2), (3, 5), (4, 5), (5, 5), (5, 4.5)]


@pytest.mark.parametrize("head", ["METRIC,TZ\nICI,ON", "METRIC,TZ"])
def test_incremental_coordinates(head: str) -> None:
    lines = ["X1.0Y2.0", "X1.0"] if "ICI" in head else ["G91", "X1.0Y2.0", "X1.0"]

    assert points(body(*lines, head=head)) == [(1, 2), (2, 2)]


def test_tool_changes_and_tool_zero() -> None:
    text = "M48\nMETRIC\nT01F00S00C0.3\nT100C1.5\n%\nT1\nX1.0Y1.0\nT100\nX2.0Y1.0\nT0\nM30\n"

    assert [(h.diameter, h.path[0][0]) for h in holes(text)] == [(0.3, 1.0), (1.5, 2.0)]


def test_tool_defined_where_it_is_used() -> None:
    text = "METRIC\nT1C0.6\nX1.0Y1.0\nT2C0.9F200S65\nX2.0Y1.0\nM30\n"

    assert [h.diameter for h in holes(text)] == [0.6, 0.9]


def test_four_digit_tool_holds_a_compensation_index() -> None:
    text = "M48\nMETRIC\nT01C0.6\n%\nT0101\nX1.0Y1.0\nM30\n"

    assert holes(text)[0].diameter == 0.6


@pytest.mark.parametrize(
    ("comment", "size", "plated"),
    [
        (
            ";T01 Holesize 1. = 8.000000 Tolerance = +3.0/-3.0 PLATED MILS Quantity = 3",
            0.2032,
            True,
        ),
        (";T01 Holesize 1. = 20.0 Tolerance = +5/-5 NON_PLATED MILS Quantity = 8", 0.508, False),
        (";   Holesize 1. = 0.040 Tolerance = +0.0/-0.0 PLATED INCHES Quantity = 1", 1.016, True),
        (";Holesize 1 = 0.305 mm", 0.305, None),
        (";Hole size 1 = 0.64999 METRIC", 0.64999, None),
        (";Holesize 1 = 300 MICRONS", 0.3, None),
    ],
)
def test_tool_sizes_by_comment(comment: str, size: float, plated: bool | None) -> None:
    (hole,) = holes(f"{comment}\n%\nG90\nT01\nX1.0Y1.0\nM30\n")

    assert hole.diameter == pytest.approx(size)
    assert hole.plated is plated


def test_tool_line_counts_more_than_its_comment() -> None:
    text = "M48\nMETRIC\nT01C0.9\n;Holesize 1 = 0.8 mm\n%\nT01\nX1.0Y1.0\nM30\n"

    assert holes(text)[0].diameter == 0.9


def test_plated_groups() -> None:
    text = (
        "M48\nMETRIC,LZ\n;TYPE=PLATED\nT1C0.3\n;TYPE=NON_PLATED\nT2C3.0\n%\n"
        "T1\nX1.0Y1.0\nT2\nX2.0Y1.0\nM30\n"
    )

    assert [h.plated for h in holes(text)] == [True, False]


def test_plating_of_a_whole_file_by_group() -> None:
    assert [h.plated for h in holes(";TYPE=NON_PLATED\n" + body("X1.0Y1.0"))] == [False]


def test_attributes_as_comments() -> None:
    text = (
        "M48\n; #@! TF.FileFunction,MixedPlating,1,2\nMETRIC\n"
        "; #@! TA.AperFunction,Plated,PTH,ViaDrill\nT1C0.4\n"
        "; #@! TA.AperFunction,NonPlated,NPTH,MechanicalDrill\nT2C3.2\n"
        "; #@! TD\nT3C1.0\n%\n"
        "T1\nX1.0Y1.0\nT2\nX2.0Y1.0\nT3\nX3.0Y1.0\nM30\n"
    )

    found = [(h.plated, h.function) for h in holes(text)]

    assert found == [(True, "ViaDrill"), (False, "MechanicalDrill"), (None, None)]


@pytest.mark.parametrize(
    ("value", "plated"), [("Plated,1,2,PTH", True), ("NonPlated,1,2,NPTH", False)]
)
def test_file_function_gives_the_plating(value: str, plated: bool) -> None:
    text = f"M48\n; #@! TF.FileFunction,{value}\nMETRIC\nT1C1\n%\nT1\nX1.0Y1.0\nM30\n"

    assert holes(text)[0].plated is plated


# As two versions of one exporter head the drill file that holds the vias; the other one is headed
# "Layer: PTH_Through".
@pytest.mark.parametrize(
    ("layer", "function"),
    [
        ("PTH_Through_Via", "ViaDrill"),
        ("Drill vias", "ViaDrill"),
        ("PTH_Through", None),
        ("Flavia", None),
    ],
)
def test_file_whose_layer_is_that_of_vias_drills_vias(layer: str, function: str | None) -> None:
    text = f";TYPE=PLATED\n;Layer: {layer}\n" + body("X1.0Y1.0")

    (hole,) = holes(text)

    assert (hole.plated, hole.function) == (True, function)


def test_plating_known_from_elsewhere_fills_silence_only() -> None:
    silent = parse_drill(body("X1.0Y1.0"), "d")
    stated = parse_drill(";TYPE=PLATED\n" + body("X1.0Y1.0"), "d")

    assert drill_holes(silent, MM, plated=False)[0].plated is False
    assert drill_holes(stated, MM, plated=False)[0].plated is True


def test_slots_between_two_points() -> None:
    (slot,) = holes(body("X1.0Y2.0G85X4.0Y2.0"))

    assert slot.path == ((1.0, 2.0), (4.0, 2.0))
    assert slot.is_slot


def test_second_point_of_a_slot_may_leave_out_what_stays() -> None:
    assert holes(body("X1.0Y2.0G85Y5.0"))[0].path == ((1.0, 2.0), (1.0, 5.0))


def test_slot_without_length_is_a_hole() -> None:
    (hole,) = holes(body("X-029718Y-002700G85X-029718Y-002700"))

    assert not hole.is_slot
    assert hole.path == ((-29.718, -2.7),)


def test_routed_slot_and_return_to_drilling() -> None:
    text = body("G00X1.0Y1.0", "M15", "G01X5.0Y1.0", "M16", "G05", "X9.0Y9.0")

    assert [hole.path for hole in holes(text)] == [((1, 1), (5, 1)), ((9, 9),)]


def test_motion_is_modal_in_a_routed_path() -> None:
    (path,) = holes(body("G00X0Y0", "M15", "G01X5.0Y0.0", "X5.0Y3.0", "Y4.0", "M17"))

    assert path.path == ((0, 0), (5, 0), (5, 3), (5, 4))


def test_path_ends_where_the_tool_is_changed_or_the_file_ends() -> None:
    text = "M48\nMETRIC\nT1C1\nT2C2\n%\nT1\nG00X0Y0\nM15\nG01X1.0\nT2\nG00X5.0\nM15\nG01X6.0\nM30\n"

    assert [(h.diameter, h.path) for h in holes(text)] == [
        (1.0, ((0, 0), (1, 0))),
        (2.0, ((5, 0), (6, 0))),
    ]


def test_rout_file_that_never_lowers_the_tool() -> None:
    assert holes(body("G00X1.0Y1.0", "G01X5.0"))[0].path == ((1, 1), (5, 1))


@pytest.mark.parametrize(("code", "side"), [("G02", 1.0), ("G03", -1.0)])
def test_arc_by_radius_is_the_short_way_round(code: str, side: float) -> None:
    """From (0,0) to (2,0) with radius 1: clockwise runs over the top, y > 0."""
    (path,) = holes(body("G00X0Y0", "M15", f"{code}X2.0Y0.0A1.0", "M16"))

    assert max(side * y for _, y in path.path) == pytest.approx(1.0, abs=0.001)
    assert all(math.hypot(x - 1, y) == pytest.approx(1.0, abs=1e-9) for x, y in path.path)


def test_arc_by_centre_and_full_circle() -> None:
    (path,) = holes(body("G00X2.0Y0.0", "M15", "G03X2.0Y0.0I-2.0J0.0", "M16"))

    length = sum(math.dist(a, b) for a, b in zip(path.path, path.path[1:], strict=False))
    assert length == pytest.approx(4 * math.pi, rel=1e-3)


def test_arc_chords_stay_within_a_micrometre() -> None:
    (path,) = holes(body("G00X0Y0", "M15", "G03X10.0Y10.0A10.0", "M16"))

    middles = [
        ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        for a, b in zip(path.path, path.path[1:], strict=False)
    ]
    assert all(10 - math.hypot(x - 0, y - 10) <= 0.001 + 1e-9 for x, y in middles)


def test_radius_a_little_too_short_for_its_chord() -> None:
    """Rounded half turns of real exporters: chord 2.0002, radius 1."""
    (path,) = holes(body("G00X0Y0", "M15", "G02X2.0002Y0.0A1.0", "M16"))

    assert path.path[-1] == (2.0002, 0.0)


def test_comments_at_the_end_of_a_line() -> None:
    assert points(body("X1.0Y2.0 ; first", "(operator)", "X3.0Y2.0")) == [(1, 2), (3, 2)]


def test_empty_file_and_file_without_holes() -> None:
    assert holes("") == []
    assert holes(body()) == []
    assert not parse_drill(body(), "d").drills


def test_nothing_after_the_end_is_read() -> None:
    assert points(body("X1.0Y2.0") + "\nX9.0Y9.0\n") == [(1, 2)]


def test_line_numbers_point_at_the_hole() -> None:
    assert [hole.line for hole in holes(body("X1.0Y2.0", "", "X3.0Y2.0"))] == [6, 8]


def test_hole_without_tool_size_says_what_to_do() -> None:
    text = "M48\nMETRIC\n%\nT01\nX1.0Y2.0\nM30\n"

    with pytest.raises(
        ReadError, match=r"^d:5: tool 1 has no size; expected .*T01C0\.80"
    ) as caught:
        holes(text)
    assert "--layer ignore=FILE" in caught.value.advice


def test_routed_path_of_unknown_width_is_left_to_the_caller() -> None:
    file = parse_drill("%\nT01\nG00X1.0Y1.0\nM15\nG01X2.0\nM16\nM30\n", "d")

    assert drill_holes(file, MM) == []
    assert file.unsized == (1,)


@pytest.mark.parametrize("line", ["G87X1.0", "M02X10.0Y10.0", "M25"])
def test_statements_that_move_what_follows_are_refused(line: str) -> None:
    with pytest.raises(ReadError, match="is not understood"):
        holes(body("X1.0Y2.0", line))


def test_tool_of_a_quarter_metre_is_a_wrong_unit() -> None:
    with pytest.raises(ReadError, match="check the unit"):
        holes(body("X1.0Y2.0", tool="T1C800"))


def test_hole_beyond_all_boards_is_a_wrong_unit() -> None:
    with pytest.raises(ReadError, match=r"at x 9999, y 200 mm; expected .* 10000 mm from the"):
        holes(body("X9999.1Y200.0"))


def test_text_that_is_no_statement_is_noted() -> None:
    file = parse_drill(body("X1.0Y2.0", "HELLO?"), "d")

    assert file.notes[0].text == "ignored: HELLO?"


@pytest.mark.parametrize("line", ["X1,5Y2,0", "X1.0Y2.0?", "X1.2.3Y1.0", "T1.5", "X-Y2.0"])
def test_place_or_code_that_is_not_understood_loses_no_hole(line: str) -> None:
    with pytest.raises(ReadError, match=r"^d:7: .* is not understood"):
        holes(body("X1.0Y2.0", line))


def test_hole_at_a_place_with_an_exponent_is_refused() -> None:
    with pytest.raises(ReadError, match=r"'E9' is not understood; expected words such as X12\.5"):
        holes(body("X1e9Y1.0"))


def test_tool_with_an_exponent_in_its_size_is_refused() -> None:
    with pytest.raises(ReadError, match=r"^d:3: tool 1 has the size 'C1E3'; expected a number"):
        holes(body("X1.0Y2.0", tool="T1C1e3"))


def test_zero_point_that_stays_is_no_hole() -> None:
    assert points(body("G93X0Y0", "X1.0Y2.0")) == [(1, 2)]


def test_zero_point_that_moves_is_refused() -> None:
    with pytest.raises(ReadError, match="a moved zero point"):
        holes(body("G93X10.0Y0", "X1.0Y2.0"))


def test_swapped_axes_are_not_followed_but_told() -> None:
    file = parse_drill(body("M70", "X1.0Y2.0"), "d")

    assert [hole.path[0] for hole in drill_holes(file, MM)] == [(1, 2)]
    assert "swaps or mirrors axes" in file.notes[0].text
