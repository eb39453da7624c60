import math

import pytest
import shapely

from checker.board import Kind
from checker.errors import ReadError
from checker.read.gerber import flatten
from tests.read.gerber.written import area, image, read, texts, xy

# An L of area 3: a corner at the origin, 2 to the right, 2 up; no symmetry.
L = "\n".join(
    ["G36*", "X0Y0D02*", "G01*"]
    + [f"{xy(*p)}D01*" for p in [(3, 0), (3, 1), (1, 1), (1, 2), (0, 2), (0, 0)]]
    + ["G37*"]
)
BLOCK = f"%ABD20*%\n{L}\n%AB*%"
TURNED = [
    ("", (0, 0, 3, 2)),
    ("%LMX*%", (-3, 0, 0, 2)),
    ("%LMY*%", (0, -2, 3, 0)),
    ("%LMXY*%", (-3, -2, 0, 0)),
    ("%LR90*%", (-2, 0, 0, 3)),
    ("%LR-90*%", (0, -3, 2, 0)),
    ("%LMX*%\n%LR90*%", (-2, -3, 0, 0)),
    ("%LR90*%\n%LMX*%", (-2, -3, 0, 0)),
    ("%LS2*%", (0, 0, 6, 4)),
    ("%LMY*%\n%LR180*%\n%LS0.5*%", (-1.5, 0, 0, 1)),
    ("%LR90*%\n%LMX*%\n%LMN*%\n%LR0*%", (0, 0, 3, 2)),
]

# The same L as a macro.
MACRO_L = "%AMELL*4,1,6,0,0,3,0,3,1,1,1,1,2,0,2,0,0,0*%\n%ADD20ELL*%"


@pytest.mark.parametrize("definition", [BLOCK, MACRO_L], ids=["block", "macro"])
@pytest.mark.parametrize(("statements", "bounds"), TURNED)
def test_mirror_then_rotate_then_scale(
    definition: str, statements: str, bounds: tuple[float, float, float, float]
) -> None:
    shape = image(definition, statements, "D20*", "X0Y0D03*")

    assert shape.bounds == pytest.approx(bounds)
    assert shape.area == pytest.approx(4 * (bounds[2] - bounds[0]) * (bounds[3] - bounds[1]) / 6)


def test_transforms_turn_the_aperture_not_its_place() -> None:
    shape = image(BLOCK, "%LR90*%", "%LS2*%", "D20*", f"{xy(10, 20)}D03*")

    assert shape.bounds == pytest.approx((6, 20, 10, 26))


def test_scale_acts_on_the_pen_of_a_draw_and_not_on_its_path() -> None:
    file = read("%ADD10C,1*%", "%LS0.5*%", "D10*", "X0Y0D02*", f"{xy(4, 0)}D01*")

    assert file.objects.pen[0] == 0.5
    assert file.objects.spine[0].length == 4
    assert file.objects.shape[0].area == pytest.approx(2 + math.pi / 16, rel=3e-3)


def test_rotation_of_the_aperture_between_quarter_turns() -> None:
    shape = image("%ADD10R,2X0.1*%", "%LR30*%", "D10*", "X0Y0D03*")

    assert shape.bounds[2] == pytest.approx(math.cos(math.pi / 6) + 0.05 * math.sin(math.pi / 6))


def test_block_in_a_block_is_turned_with_it() -> None:
    lines = (BLOCK, "%ABD21*%", "D20*", f"{xy(10, 0)}D03*", "%AB*%", "%LR90*%", "D21*", "X0Y0D03*")

    assert image(*lines).bounds == pytest.approx((-2, 10, 0, 13))


def test_block_scales_the_pens_and_moves_the_centre_lines_of_its_draws() -> None:
    block = f"%ADD10C,1*%\n%ABD21*%\nD10*\nX0Y0D02*\n{xy(4, 0)}D01*\n{xy(9, 9)}D03*\n%AB*%"
    objects = read(block, "%LS2*%", "D21*", f"{xy(0, 1)}D03*").objects

    assert objects.pen.tolist() == [2, 0]
    assert objects.spine[0].equals(shapely.LineString([(0, 1), (8, 1)]))
    assert objects.spine[1] == shapely.Point(18, 19)
    assert objects.kind.tolist() == [Kind.TRACE, Kind.PAD]


def test_clear_flash_of_a_block_turns_its_polarity() -> None:
    ring = "%ABD20*%\n%ADD10R,2X2*%\nD10*\nX0Y0D03*\n%LPC*%\n%ADD11R,1X1*%\nD11*\nX0Y0D03*\n%LPD*%\n%AB*%"  # noqa: E501
    plate = "%ADD12R,4X4*%\nD12*\nX0Y0D03*"

    assert area(plate, ring, "D20*", "X0Y0D03*") == 16 - 1
    assert area(plate, ring, "%LPC*%", "D20*", "X0Y0D03*") == 16 - 4 + 1


def test_block_flashed_nowhere_draws_nothing() -> None:
    assert area(BLOCK, "%ADD10R,1X1*%", "D10*", "X0Y0D03*") == 1


def test_drawing_with_a_block_is_refused() -> None:
    with pytest.raises(ReadError, match="draw with aperture block D20"):
        read(BLOCK, "D20*", "X0Y0D02*", "X1Y1D01*")


def test_block_may_not_use_itself() -> None:
    with pytest.raises(ReadError, match="aperture D20 is not defined"):
        read("%ABD20*%", "D20*", "X0Y0D03*", "%AB*%")


def test_aperture_number_of_a_block_may_be_taken_again() -> None:
    lines = (BLOCK, "D20*", "X0Y0D03*", "%ADD20R,1X1*%", f"{xy(9, 9)}D03*")

    assert area(*lines) == 4 + 1


# Step and repeat


def test_repeat_steps_in_y_first() -> None:
    objects = read("%SRX2Y3I10J5*%", "%ADD10C,1*%", "D10*", "X0Y0D03*", "%SR*%").objects

    places = [(p.x, p.y) for p in objects.spine]
    assert places == [(0, 0), (0, 5), (0, 10), (10, 0), (10, 5), (10, 10)]


@pytest.mark.parametrize(
    "closing", ["%SR*%", "%SRX1Y1I0J0*%", "%SRX2Y1I50J0*%", ""], ids=["SR", "1x1", "next", "end"]
)
def test_repeat_is_closed_by_sr_by_the_next_or_by_the_end(closing: str) -> None:
    assert area("%SRX3Y2I10J5*%", "%ADD10R,1X1*%", "D10*", "X0Y0D03*", closing) == 6


def test_later_copies_clear_earlier_ones() -> None:
    # Each copy draws a 2 x 2 square and clears a 1 x 1 hole half a step on.
    body = f"%ADD10R,2X2*%\nD10*\nX0Y0D03*\n%LPC*%\n%ADD11R,1X1*%\nD11*\n{xy(2, 0)}D03*\n%LPD*%"

    # The hole of the first copy lies in the second square, which is drawn after it.
    assert area("%SRX2Y1I2J0*%", body, "%SR*%") == 8
    assert area("%SRX2Y1I-2J0*%", body, "%SR*%") == 8 - 1


def test_steps_follow_the_unit() -> None:
    head = "%FSLAX24Y24*%\n%MOIN*%\n"
    file = read("%SRX2Y1I1J0*%", "%ADD10C,0.1*%", "D10*", "X0Y0D03*", head=head)

    assert file.objects.spine[1] == shapely.Point(25.4, 0)


def test_repeat_in_a_block_and_block_in_a_repeat() -> None:
    row = "%ABD21*%\n%ADD10R,1X1*%\nD10*\n%SRX3Y1I2J0*%\nX0Y0D03*\n%SR*%\n%AB*%"

    assert area(row, "%SRX1Y4I0J2*%", "D21*", "X0Y0D03*", "%SR*%") == 12


def test_block_closed_inside_a_repeat_is_noted() -> None:
    file = read("%ABD21*%", "%ADD10R,1X1*%", "%SRX3Y1I2J0*%", "D10*", "X0Y0D03*", "%AB*%", "D21*", "X0Y0D03*")  # fmt: skip  # noqa: E501

    assert texts(file) == ["aperture block closed inside a step and repeat"]
    assert len(file.objects) == 3


def test_objects_keep_the_order_of_the_file_around_repeats() -> None:
    lines = ("%ADD10R,4X4*%", "%ADD11R,1X1*%", "D10*", "X0Y0D03*", "%LPC*%", "%SRX2Y1I2J0*%")
    file = read(*lines, "D11*", f"{xy(-1, 0)}D03*", "%SR*%", "%LPD*%", f"{xy(9, 0)}D03*")

    islands, island_of = flatten(file.objects)
    assert file.objects.dark.tolist() == [True, False, False, True]
    assert file.objects.line.tolist() == [6, 10, 10, 13]
    assert sum(island.area for island in islands) == 16 - 2 + 1
    assert (island_of >= 0).tolist() == [True, False, False, True]


# Bounds


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        (["%SRX1000000000Y1000000000I0J0*%", "D10*", "X0Y0D03*"], "expand without bound"),
        (["%SRX2000Y2000I1J1*%", "D10*", "X0Y0D03*"], "expand without bound"),
        (["%SRX1000000Y1I1J0*%", "D10*", "X0Y0D03*"], "leaves the plate"),
        ([f"%ABD{n}*%" for n in range(20, 200)], "nested too deep"),
        (
            [f"%ABD{n}*%\nD{n - 1}*\nX0Y0D03*\n%AB*%" for n in range(11, 200)],
            "too deep to follow",
        ),
        (
            [f"%ABD{n}*%\nD{n - 1}*\n" + "X0Y0D03*" * 10 + "\n%AB*%" for n in range(11, 30)],
            "expand without bound",
        ),
    ],
    ids=["repeat", "plate", "steps", "nesting", "chain", "doubling"],
)
def test_expansion_is_bounded(lines: list[str], reason: str) -> None:
    with pytest.raises(ReadError, match=reason):
        read("%ADD10C,1*%", *lines)


def test_points_of_copies_are_bounded() -> None:
    file = read("%ADD10C,1*%", "%SRX300Y300I1J1*%", "D10*", "X0Y0D03*", "%SR*%")

    assert file.operations == 1
    with pytest.raises(ReadError, match=r"^layer.gbr: flashes and repeats expand without bound"):
        _ = file.objects


def test_repeat_of_nothing_costs_nothing() -> None:
    assert len(read("%SRX1000000000Y1000000000I1J1*%", "%SR*%").objects) == 0


@pytest.mark.parametrize("statement", ["SRX0Y1I0J0", "SRA", "SRX-1", "ABX", "ABD", "LMZ", "LRx", "LS0", "LS-1", "LPX"])  # fmt: skip  # noqa: E501
def test_statement_that_makes_no_sense_is_refused(statement: str) -> None:
    with pytest.raises(ReadError, match=r"layer.gbr:3: "):
        read(f"%{statement}*%")


def test_chords_of_an_enlarged_block_stay_within_the_tolerance_that_is_told() -> None:
    """A disc of 2 mm in a block within a block: enlarged ten times, its circle has radius 10 mm."""
    block = "%ABD20*%\n%ADD10C,2*%\nD10*\nX0Y0D03*\n%AB*%"
    outer = "%ABD21*%\n%LS2*%\nD20*\nX0Y0D03*\n%LS1*%\n%AB*%"

    file = read(block, outer, "%LS5*%", "D21*", "X0Y0D03*")

    (disc,) = file.objects.shape
    true = shapely.Point(0, 0).buffer(10, quad_segs=4096)
    off = shapely.hausdorff_distance(disc.boundary, true.boundary, densify=0.5)
    assert file.tolerance == pytest.approx(0.01)
    assert 0.001 < off <= file.tolerance


def test_without_enlarged_blocks_the_tolerance_is_a_micrometre() -> None:
    file = read(BLOCK, "%LS0.5*%", "D20*", "X0Y0D03*")

    assert file.tolerance == pytest.approx(0.001)
