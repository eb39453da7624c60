import math
import operator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.errors import ReadError
from checker.read.gerber.macro import compile_expression, evaluate
from tests.read.gerber.written import area, image, macro, read

numbers = st.integers(1, 9).map(float)


@st.composite
def sums(draw: st.DrawFn, depth: int = 4) -> tuple[str, float]:
    """An expression as text, and its value by Python's own arithmetic."""
    if depth == 0 or draw(st.booleans()):
        value = draw(numbers)
        return f"{value:g}", value
    left, right = draw(sums(depth - 1)), draw(sums(depth - 1))
    sign, act = draw(
        st.sampled_from([("+", operator.add), ("-", operator.sub), ("x", operator.mul)])
    )
    if draw(st.booleans()):
        return f"-(({left[0]}){sign}({right[0]}))", -act(left[1], right[1])
    return f"({left[0]}){sign}({right[0]})", act(left[1], right[1])


@given(sums())
def test_expression_has_the_value_of_ordinary_arithmetic(case: tuple[str, float]) -> None:
    text, value = case

    assert evaluate(compile_expression(text), {}) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1+2x3", 7),
        ("1-2-3", -4),
        ("12/2/3", 2),
        ("-$1/2", -1.5),
        ("$1X$2", 12),
        ("2x-3", -6),
        ("-(-$2)", 4),
        ("+1.5", 1.5),
        (".5+1.", 1.5),
        ("($1-3x$2)/2+$3", -4.5),
        (" 1 + 1 ", 2),
        ("$01", 3),
    ],
)
def test_precedence_signs_and_variables(text: str, value: float) -> None:
    assert evaluate(compile_expression(text), {"1": 3.0, "2": 4.0}) == value


def test_parentheses_of_any_depth_do_not_exhaust_the_stack() -> None:
    text = "(" * 100_000 + "1" + ")" * 100_000

    assert evaluate(compile_expression(text), {}) == 1


@pytest.mark.parametrize("text", ["", "1+", "(1", "1)", "1 2", "$", "x2", "1,5", "a", "()", "1$1"])
def test_broken_expression_is_refused(text: str) -> None:
    with pytest.raises(ReadError, match=r"layer.gbr:7: macro expression"):
        read(*macro(f"1,1,{text.replace(',', ';')},0,0"))


def test_variables_are_set_in_order_and_unset_ones_are_zero() -> None:
    shape = image(*macro("$3=$1x2", "$3=$3+$2", "21,1,$3,$1,$9,0,0", parameters=",1X2"))

    assert shape.bounds == (-2, -0.5, 2, 0.5)


def test_a_variable_overrides_a_parameter() -> None:
    assert area(*macro("$1=3", "21,1,$1,1,0,0,0", parameters=",7")) == 3


@pytest.mark.parametrize(
    ("texts", "reason"),
    [
        (("$1=2", *["$1=$1x$1"] * 20, "1,1,$1,0,0"), "number overflow"),
        (("1,1,1/0,0,0",), "division by zero"),
        (("3,1,1,0,0",), "macro primitive 3"),
        (("1,1,1",), "macro circle with 2 parameters"),
        (("1,0.5,1,0,0",), "exposure 0.5"),
        (("1,1,-1,0,0",), "-1 mm wide"),
        (("5,1,2,0,0,1,0",), "polygon of 2 corners"),
        (("5,1,3.5,0,0,1,0",), "polygon of 3.5 corners"),
        (("5,1,1000000000,0,0,1,0",), "polygon of 1e\\+09 corners"),
        (("4,1,1000000000,0,0,1,1,0,0,0",), "outline of 1e\\+09 corners"),
        (("4,1,3,0,0,1,1,0,0,0",), "outline of 3 corners with 3 points"),
        (("6,0,0,100,0.001,0.001,1000000000,0.1,2,0",), "macro expands without bound"),
        (("1,1,1,1e9,0",), "offset in a macro is 1e\\+09 mm"),
    ],
)
def test_macro_that_cannot_be_made_is_refused_where_it_is_used(
    texts: tuple[str, ...], reason: str
) -> None:
    with pytest.raises(ReadError, match=f"layer.gbr:{6 + len(texts)}: .*{reason}"):
        read(*macro(*texts))


def test_broken_macro_that_is_never_used_is_no_fault() -> None:
    file = read("%AMBAD*1,1,(,0,0*%", "%ADD11BAD*%", "%ADD10C,1*%", "D10*", "X0Y0D03*")

    assert file.operations == 1


def test_work_for_all_macros_together_is_bounded() -> None:
    long_sum = "+".join(["1"] * 50_000)
    lines = [f"%ADD{n}A*%\nD{n}*\nX0Y0D03*" for n in range(10, 50)]

    with pytest.raises(ReadError, match="macros expand without bound"):
        read(f"%AMA*$2={long_sum}*1,1,1,0,0*%", *lines)


# Primitives: closed forms. Parameters in the order of the format's chapter on macros.


@pytest.mark.parametrize(
    ("text", "true"),
    [
        ("1,1,2,5,0", math.pi),
        ("20,1,0.5,0,0,3,4,0", 2.5),
        ("2,1,0.5,0,0,3,4,0", 2.5),
        ("21,1,3,2,7,7,30", 6),
        ("22,1,3,2,1,1,30", 6),
        ("4,1,3,0,0,4,0,0,3,0,0,15", 6),
        ("5,1,6,0,0,2,0", 6 * math.sqrt(3) / 4),
        # Rings 5-4 and 3-2 and a cross of 0.1 x 6 bars, those lying on the rings not counted.
        (
            "6,0,0,5,0.5,0.5,2,0.1,6,0",
            math.pi / 4 * (25 - 16 + 9 - 4) + 1.2 - 0.01 - 4 * 0.1 * 1.0,
        ),
        # Ring 2-1 less four gaps of 0.2.
        ("7,0,0,2,1,0.2,0", math.pi * 0.75 - 4 * 0.2 * 0.5),
    ],
)
def test_area_of_a_primitive(text: str, true: float) -> None:
    assert area(*macro(text)) == pytest.approx(true, rel=1e-3)


@pytest.mark.parametrize(
    "text",
    [
        "1,1,1,3,0,{}",
        "20,1,0.5,2,0,4,0,{}",
        "21,1,2,1,3,0,{}",
        "22,1,2,1,2,-0.5,{}",
        "4,1,4,2,-0.5,4,-0.5,4,0.5,2,0.5,2,-0.5,{}",
        "5,1,4,3,0,1,{}",
        "7,3,0,1,0.5,0.1,{}",
        "6,3,0,1,0.1,0.1,2,0.05,1.2,{}",
    ],
)
def test_primitives_turn_about_the_origin_of_the_macro(text: str) -> None:
    there = image(*macro(text.format(90)))

    assert (there.centroid.x, there.centroid.y) == pytest.approx((0, 3), abs=1e-3)


def test_rotation_may_be_left_out() -> None:
    assert area(*macro("21,1,3,2,0,0")) == 6
    assert area(*macro("5,1,4,0,0,2")) == pytest.approx(2)


def test_exposure_off_clears_what_earlier_primitives_drew() -> None:
    lines = macro("21,1,4,4,0,0,0", "21,0,2,2,0,0,0", "21,1,1,1,0,0,0")

    assert area(*lines) == 16 - 4 + 1


def test_exposure_off_clears_nothing_below_the_pad() -> None:
    lines = macro("21,1,4,4,0,0,0", "21,0,2,2,0,0,0")

    assert area("%ADD11R,3X3*%", "D11*", "X0Y0D03*", *lines) == 16


def test_exposure_two_turns_the_exposure_over() -> None:
    lines = macro("21,1,4,4,0,0,0", "21,2,2,2,0,0,0", "21,2,1,1,0,0,0")

    assert area(*lines) == 16 - 4 + 1


def test_comments_and_line_breaks_within_a_macro() -> None:
    lines = macro("0 a comment, with $1 and (", "0", "21,1,\n 2,\n 3,0,0,\n0")

    assert area(*lines) == 6


def test_outline_that_crosses_itself_keeps_both_halves() -> None:
    bow_tie = "4,1,4,0,0,2,2,2,0,0,2,0,0,0"

    assert area(*macro(bow_tie)) == pytest.approx(2)


def test_macro_of_nothing_draws_nothing() -> None:
    file = read(*macro("1,1,0,0,0", "21,1,0,5,0,0,0", "20,1,1,3,3,3,3,0"))

    assert file.operations == 1
    assert file.objects.shape[0].is_empty
