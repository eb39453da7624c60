import math

import pytest
import shapely

from checker.errors import ReadError
from tests.read.gerber.written import area, image, read, xy

HEXAGON = 3 * math.sqrt(3) / 8  # of diameter 1


@pytest.mark.parametrize(
    ("definition", "true"),
    [
        ("C,1", math.pi / 4),
        ("C,1X0.5", math.pi * 3 / 16),
        ("C,1X0.5X0.4", math.pi / 4 - 0.2),
        ("R,2X1", 2),
        ("R,2X1X0.5", 2 - math.pi / 16),
        ("R,2X1X0.5X0.2", 1.9),
        ("O,3X1", 2 + math.pi / 4),
        ("O,1X3", 2 + math.pi / 4),
        ("O,1X1", math.pi / 4),
        ("O,3X1X0.5", 2 + math.pi * 3 / 16),
        ("O,3X1X0.5X0.2", 1.9 + math.pi / 4),
        ("P,1X6", HEXAGON),
        ("P,1X6X15", HEXAGON),
        ("P,1X6X-15X0.2", HEXAGON - math.pi / 100),
        ("P,1X6X0X0.2X0.1", HEXAGON - 0.02),
        ("R,01.0X+.5", 0.5),
    ],
)
def test_area_of_a_standard_aperture(definition: str, true: float) -> None:
    assert area(f"%ADD10{definition}*%", "D10*", "X0Y0D03*") == pytest.approx(true, rel=1e-6)


def test_first_corner_of_a_polygon_lies_at_its_rotation() -> None:
    shape = image("%ADD10P,2X3X90*%", "D10*", "X0Y0D03*")

    assert shape.bounds == pytest.approx((-math.sqrt(3) / 2, -0.5, math.sqrt(3) / 2, 1))


def test_hole_in_a_pad_does_not_cut_the_copper_below() -> None:
    below = ("%ADD11R,4X0.5*%", "D11*", "X0Y0D03*")
    ring = ("%ADD10C,2X1*%", "D10*", "X0Y0D03*")

    through_the_hole = image(*below, *ring).intersection(shapely.box(-0.4, -0.2, 0.4, 0.2))
    assert through_the_hole.area == pytest.approx(0.8 * 0.4)


def test_sizes_follow_the_unit() -> None:
    inches = "%FSLAX24Y24*%\n%MOIN*%\n"

    assert area("%ADD10R,0.1X0.1*%", "D10*", "X0Y0D03*", head=inches) == pytest.approx(2.54**2)


@pytest.mark.parametrize("definition", ["C,0", "R,0X1", "R,1X0", "O,0X1", "P,0X5"])
def test_aperture_of_no_size_is_legal_and_draws_nothing(definition: str) -> None:
    file = read(f"%ADD10{definition}*%", "D10*", "X0Y0D03*", "X1000000D01*")

    assert file.operations == 2
    assert all(shape.is_empty for shape in file.objects.shape)


def test_line_of_no_width_keeps_its_centre_line() -> None:
    file = read("%ADD10C,0*%", "D10*", "X0Y0D02*", f"{xy(3, 4)}D01*")

    assert file.objects.spine[0].length == 5


@pytest.mark.parametrize(
    ("definition", "reason"),
    [
        ("C", "0 parameters; expected 1 to 3"),
        ("C,1X1X1X1", "4 parameters"),
        ("R,1", "1 parameters; expected 2 to 4"),
        ("P,1", "1 parameters"),
        ("P,1X2", "2 corners"),
        ("P,1X1000000000", "1e\\+09 corners"),
        ("C,-1", "-1 mm wide"),
        ("C,10000000", "1e\\+07 mm wide; expected 0 to 10000 mm"),
        ("NOSUCH,1", 'uses macro "NOSUCH"'),
    ],
)
def test_aperture_that_makes_no_sense_is_refused_where_it_is_used(
    definition: str, reason: str
) -> None:
    with pytest.raises(ReadError, match=f"layer.gbr:4: aperture D10.*{reason}"):
        read(f"%ADD10{definition}*%", "D10*X0Y0D03*")


@pytest.mark.parametrize("definition", ["%ADD10C,abc*%", "%ADD10C,nan*%", "%ADD10C,1e999*%"])
def test_parameter_that_is_no_number_is_refused(definition: str) -> None:
    with pytest.raises(ReadError, match=r"layer.gbr:3: parameter of aperture D10"):
        read(definition)


def test_undefined_aperture_is_refused_when_it_is_used() -> None:
    with pytest.raises(ReadError, match=r"layer.gbr:5: aperture D11 is not defined"):
        read("%ADD10C,1*%", "D11*", "X0Y0D03*")


def test_undefined_aperture_may_be_selected_and_left() -> None:
    assert read("%ADD10C,1*%", "D11*", "X0Y0D02*", "D10*", "X0Y0D03*").operations == 1


def test_drawing_without_any_aperture_is_refused() -> None:
    with pytest.raises(ReadError, match=r"layer.gbr:3: draw or flash before any aperture"):
        read("X0Y0D03*")


def test_moves_and_regions_need_no_aperture() -> None:
    square = ("G36*", "X0Y0D02*", f"{xy(1, 0)}D01*", f"{xy(1, 1)}D01*", "X0Y0D01*", "G37*")

    assert area(*square) == 0.5


def test_later_definition_of_a_number_holds_from_there_on() -> None:
    lines = ("%ADD10R,1X1*%", "D10*", "X0Y0D03*", "%ADD10R,2X2*%", f"{xy(10, 0)}D03*")

    assert area(*lines) == 1 + 4


def test_unit_may_follow_the_apertures() -> None:
    head = "%FSLAX24Y24*%\n"

    assert area("%ADD10R,0.1X0.1*%", "G70*", "D10*", "X0Y0D03*", head=head) == pytest.approx(
        2.54**2
    )


def test_macro_may_follow_its_aperture_and_have_a_name_of_one_letter() -> None:
    lines = ("%ADD10T,2*%", "%AMT*21,1,$1,1,0,0,0*%", "D10*", "X0Y0D03*")

    assert area(*lines) == 2
