"""Spellings met in the files of about twenty exporters, each with what it must mean."""

import pytest
import shapely

from checker.read.gerber import GerberFile, parse_gerber
from tests.read.gerber.written import HEAD, image, read, texts, xy

PEN = "%ADD10R,1X1*%\nD10*"
LINE = f"X0Y0D02*\n{xy(4, 0)}D01*"  # with PEN: 5 x 1


def box(file: GerberFile) -> list[float]:
    """Extent of all that a file draws."""
    return list(shapely.total_bounds(file.objects.shape).tolist())


@pytest.mark.parametrize(
    "lines",
    [
        ["X0Y0D02*", f"{xy(4, 0)}D01*"],
        ["X0Y0D2*", f"{xy(4, 0)}D1*"],
        ["X0Y0D002*", f"{xy(4, 0)}D001*"],
        ["G01X0Y0D02*", f"G01{xy(4, 0)}D01*"],
        ["G1X0Y0D02*", f"G1{xy(4, 0)}D01*"],
        ["X0Y0D02*G01*", f"{xy(4, 0)}D01*"],
        ["X+0Y-0D02*", "X+4000000D01*"],
        ["Y0X0D02*", "Y0X4000000D01*"],
        ["X0D02*", "X4000000Y0D01*"],
        ["D02*", "X4000000D01*"],
        ["N10X0Y0D02*", "N20X4000000D01*"],
        ["  X0Y0D02*", "\tX4000000D01 *"],
        ["X0Y0", "D02*", "X4000000", "D01*"],
        ["X0.0Y0.0D02*", "X4.0D01*"],
        ["X0Y0D02*X4000000D01*"],
        ["X0Y0D02*", "", "", "X4000000D01*"],
        ["G00X0Y0D02*", "G01X4000000D01*"],
        # The operation holds until another is named, across other words.
        ["X0Y0D02*", "X0Y0D01*", "G01*", "G75*", "X4000000*"],
        ["X0Y0D02*", "X2000000D01*", "G01*", "X4000000*"],
        ["G54D10*", "X0Y0D02*", "G54D010*", "X4000000D01*"],
        ["G54D10*X0Y0D02*X4000000D01*"],
        ["G04 100 % sure*", "X0Y0D02*", "G4 %LPC*", "X4000000D01*"],
        ["%LPD*%%LPD*%", "X0Y0D02*", "%\nLPD*\n%", "X4000000D01*"],
    ],
    ids=lambda lines: " ".join(lines),
)
def test_one_line_in_many_spellings(lines: list[str]) -> None:
    file = read(PEN, *lines)

    assert box(file) == [-0.5, -0.5, 4.5, 0.5]
    assert texts(file) == []


@pytest.mark.parametrize(
    "head",
    [
        "%FSLAX46Y46*%%MOMM*%",
        "%FSLAX46Y46*MOMM*%",
        "%MOMM*%%FSLAX46Y46*%",
        "%FSLAX46Y46*%G71*",
        "G71*%FSLAX46Y46*%",
        "%FSLAX24Y24*%%MOMM*%%FSLAX46Y46*%",
        "%FSLAN2X46Y46*%%MOMM*%",
        "%FSLAX46Y46Z46*%%MOMM*%",
        "%FSAX46Y46*%%MOMM*%",
        "%FSDAX46Y46*%%MOMM*%",
        "%ICAS*%%FSLAX46Y46*%%MOMM*%",
        "%FSLAX46Y46*%%MOMM*%%IPPOS*%%OFA0B0*%%SFA1.0B1.0*%%MIA0B0*%%IR0*%%ASAXBY*%",
        "\ufeffG04 x*%FSLAX46Y46*%%MOMM*%",
        "\n\n%FSLAX46Y46*%\n\n%MOMM*%G90*",
    ],
)
def test_one_head_in_many_spellings(head: str) -> None:
    assert box(read(PEN, LINE, head=head)) == [-0.5, -0.5, 4.5, 0.5]


@pytest.mark.parametrize(
    ("head", "line"),
    [
        ("%FSLAX23Y23*%%MOIN*%", "X0Y0D02*X1000D01*"),
        ("%FSLAX34Y34*%G70*", "X0Y0D02*X10000D01*"),
        ("%FSTAX23Y23*%%MOIN*%", "X0Y0D02*X01D01*"),
        ("%FSTAX25Y25*%%MOIN*%", "X00Y0D02*X01000D01*"),
        ("%FSTAX55Y55*%%MOIN*%", "X0Y0D02*X00001D01*"),
        ("%FSLAX55Y23*%%MOIN*%", "X0Y0D02*X100000D01*"),
        ("%FSLAX66Y66*%%MOIN*%", "X0Y0D02*X1000000D01*"),
    ],
)
def test_one_inch_in_many_formats(head: str, line: str) -> None:
    file = read("%ADD10R,0.1X0.1*%D10*", line, head=head)

    assert file.unit == "in"
    assert box(file) == pytest.approx([-1.27, -1.27, 26.67, 1.27])


def test_unit_stated_again_differently_holds_from_there_on() -> None:
    file = read("%ADD10R,1X1*%", "D10*", "X0Y0D03*", "G70*", "X1000000D03*")

    assert file.objects.spine[1].x == 25.4
    assert texts(file) == ["unit stated again, differently: the later one holds"]


def test_statement_of_several_lines_stands_on_its_first() -> None:
    file = read(PEN, "\n\nX0\nY0\nD03*", "X1000000\n\n\nY0D03*", "Q1\n\n*")

    assert file.objects.line.tolist() == [7, 10]
    assert file.notes[-1].line == 14


def test_carriage_returns_alone_end_lines() -> None:
    text = (HEAD + f"{PEN}\nX0Y0D03*\nM02*\n").replace("\n", "\r")

    assert parse_gerber(text, "x").objects.line.tolist() == [5]


@pytest.mark.parametrize("end", ["M02*\n", "M00*", "M02", "M02*%", "G01*M02*\n\x1a", "M2*"])
def test_ends_of_program(end: str) -> None:
    assert texts(read(PEN, "X0Y0D03*", end=end)) == []


def test_text_after_the_end_is_ignored_and_noted() -> None:
    file = read(PEN, "X0Y0D03*", end="M02*\nX9000000D03*\n")

    assert len(file.objects) == 1
    assert [(note.line, note.text) for note in file.notes] == [
        (6, "text after the end of the program, ignored")
    ]


def test_missing_end_between_two_statements_is_noted() -> None:
    file = read(PEN, "X0Y0D03*", end="\n\n")

    assert texts(file) == ["no end of program (M02), taken as complete"]


def test_empty_layer_is_a_layer() -> None:
    file = read()

    assert (file.operations, len(file.objects), file.notes) == (0, 0, ())


def test_region_closed_twice_and_never_opened() -> None:
    file = read("G37*", "G36*", "G37*", "G37*", PEN, LINE)

    assert texts(file) == ["G37 without G36, ignored (2 times, here first)"]
    assert box(file) == [-0.5, -0.5, 4.5, 0.5]


def test_coordinates_before_any_operation_are_a_move_and_noted() -> None:
    file = read(PEN, "X1000000Y0*", "X4000000D01*")

    assert file.objects.spine[0].length == 3
    assert texts(file) == ["coordinates before any D01, D02 or D03, taken as a move"]


def test_everything_ignored_is_noted_with_its_line() -> None:
    file = read(PEN, "%XYZ*%", "G77*", "M01*", "hello*", "Q1*", "Q1*", "D05*", "X0Y0D03*")

    assert [(note.source, note.line, note.text) for note in file.notes] == [
        ("layer.gbr", 5, 'unknown word "XYZ", ignored'),
        ("layer.gbr", 6, "unknown code G77, ignored"),
        ("layer.gbr", 7, "optional stop M01, ignored"),
        ("layer.gbr", 8, 'unknown word "hello", ignored'),
        ("layer.gbr", 9, 'unknown word "Q1", ignored (2 times, here first)'),
        ("layer.gbr", 11, "unknown code D05, ignored"),
    ]


def test_notes_are_bounded() -> None:
    file = read(PEN, *(f"Q{n}*" for n in range(1000)), "X0Y0D03*")

    assert len(file.notes) == 201
    assert file.notes[0].text == "800 further remarks"


# Older statements on the whole image, in the order MI, SF, OF, IR, AS.


@pytest.mark.parametrize(
    ("statements", "extent"),
    [
        ("%OFA10B20*%", (9.5, 19.5, 14.5, 20.5)),
        ("%OFB20*%", (-0.5, 19.5, 4.5, 20.5)),
        ("%IR90*%", (-0.5, -0.5, 0.5, 4.5)),
        ("%IR180*%", (-4.5, -0.5, 0.5, 0.5)),
        ("%IR270*%", (-0.5, -4.5, 0.5, 0.5)),
        ("%MIA1B0*%", (-4.5, -0.5, 0.5, 0.5)),
        ("%SFA2B1*%", (-0.5, -0.5, 8.5, 0.5)),
        ("%ASAYBX*%", (-0.5, -0.5, 0.5, 4.5)),
        ("%IR90*%%OFA10B0*%", (-0.5, 9.5, 0.5, 14.5)),
        ("%ASAYBX*%%IR90*%%OFA10B1*%", (9.5, -1.5, 14.5, -0.5)),
        ("%SFA2B2*%%MIA1*%", (-8.5, -0.5, 0.5, 0.5)),
    ],
)
def test_legacy_statements_on_the_image(
    statements: str, extent: tuple[float, float, float, float]
) -> None:
    assert box(read(statements, PEN, LINE)) == pytest.approx(extent)


def test_mirrored_coordinates_turn_arcs_over() -> None:
    quarter = ("G75*", f"{xy(5, 0)}D02*", "G03X0Y5000000I-5000000J0D01*", "G01X0Y0D01*")

    plain = image("G36*", *quarter, f"{xy(5, 0)}D01*", "G37*")
    turned = image("%MIA1B0*%", "G36*", *quarter, f"{xy(5, 0)}D01*", "G37*")
    assert turned.bounds == pytest.approx((-5, 0, 0, 5), abs=0.001)
    assert turned.area == pytest.approx(plain.area)


def test_strokes_of_a_fill_join_into_one_island() -> None:
    rows = [f"{xy(0, y / 2)}D02*\n{xy(10, y / 2)}D01*" for y in range(20)]
    filled = image("%ADD10C,0.6*%", "D10*", *rows)

    assert len(filled.geoms) == 1
    assert 10 * (9.5 + 0.6) < filled.area < (10 + 0.6) * (9.5 + 0.6)
