"""Holes written in any unit, digits and zero suppression read back the same."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from checker.errors import ReadError
from checker.read.excellon import INCH, NumberFormat, parse_drill
from checker.read.machine import drill_holes
from checker.read.registration import Copper, choose

FORMATS = [
    NumberFormat(unit, *digits, leading)
    for unit, sizes in (
        (INCH, ((2, 4), (3, 5), (2, 5))),
        (1.0, ((3, 3), (4, 2), (4, 4), (3, 5))),
    )
    for digits in sizes
    for leading in (False, True)
]
BOARD = 60.0
places = st.lists(
    st.tuples(st.integers(0, 600), st.integers(0, 600)).map(lambda p: (p[0] / 10, p[1] / 10)),
    min_size=1,
    max_size=30,
    unique=True,
)


def written(value: float, numbers: NumberFormat) -> str:
    """A coordinate in mm as an exporter of that format writes it."""
    count = round(abs(value) / numbers.unit * 10**numbers.fraction)
    digits = str(count).rjust(numbers.whole + numbers.fraction, "0")
    digits = digits.rstrip("0") or "0" if numbers.leading else digits.lstrip("0") or "0"
    return ("-" if value < 0 and count else "") + digits


def drill_file(holes: list[tuple[float, float]], numbers: NumberFormat, head: str) -> str:
    size = 1.0 / numbers.unit
    lines = [f"X{written(x, numbers)}Y{written(y, numbers)}" for x, y in holes]
    return "\n".join(["M48", head, f"T1C{size:.6f}", "%", "T1", *lines, "M30"])


def stated(numbers: NumberFormat) -> str:
    unit = "INCH" if numbers.unit == INCH else "METRIC"
    zeros = "LZ" if numbers.leading else "TZ"
    return f"{unit},{zeros},{'0' * numbers.whole}.{'0' * numbers.fraction}"


def resolution(numbers: NumberFormat) -> float:
    return float(numbers.unit / 10**numbers.fraction)


@given(places, st.sampled_from(FORMATS), st.booleans())
def test_stated_format_reads_back(
    holes: list[tuple[float, float]], numbers: NumberFormat, mirrored: bool
) -> None:
    holes = [(-x, y) for x, y in holes] if mirrored else holes
    file = parse_drill(drill_file(holes, numbers, stated(numbers)), "d")

    formats, _ = choose([file], None)
    found = [hole.path[0] for hole in drill_holes(file, formats["d"])]

    assert np.abs(np.subtract(found, holes)).max() <= resolution(numbers) / 2 + 1e-9


def copper_of(holes: list[tuple[float, float]]) -> Copper:
    """A pad of 1.6 mm under each hole, as islands of one layer."""
    pads = shapely.buffer(shapely.points(holes), 0.8)
    found = Copper.of([shapely.get_parts(shapely.union_all(pads))])
    assert found is not None
    return found


@given(places, st.sampled_from(FORMATS), st.sampled_from(["unit", "nothing"]))
def test_silent_format_is_found_by_registration(
    holes: list[tuple[float, float]], numbers: NumberFormat, says: str
) -> None:
    corners = [(1.0, 2.0), (BOARD, 3.0), (2.0, BOARD - 1), (BOARD - 3, BOARD - 2)]
    holes = [*corners, *holes]
    head = stated(numbers).partition(",")[0] if says == "unit" else "VER,1"
    file = parse_drill(drill_file(holes, numbers, head), "d")

    formats, _ = choose([file], copper_of(holes))
    found = [hole.path[0] for hole in drill_holes(file, formats["d"])]

    assert np.abs(np.subtract(found, holes)).max() <= resolution(numbers) / 2 + 1e-9


SPREAD = [(1.0, 2.0), (50.0, 3.0), (2.0, 40.0), (48.0, 39.0), (20.0, 20.0)]


def test_registration_warns_where_the_header_disagrees_and_keeps_the_header() -> None:
    numbers = NumberFormat(INCH, 2, 4)
    file = parse_drill(drill_file(SPREAD, numbers, "METRIC,TZ,000.000"), "d")

    formats, notes = choose([file], copper_of(SPREAD))

    assert formats["d"] == NumberFormat(1.0, 3, 3)
    assert "100 % of its holes land on copper as inch 2.4 TZ" in notes[0].text


def test_stated_format_that_fits_is_not_remarked() -> None:
    file = parse_drill(drill_file(SPREAD, NumberFormat(1.0, 3, 3), "METRIC,TZ,000.000"), "d")

    assert choose([file], copper_of(SPREAD))[1] == []


def test_guessed_format_is_told() -> None:
    file = parse_drill(drill_file(SPREAD, NumberFormat(INCH, 3, 5), "INCH"), "d")

    _, notes = choose([file], copper_of(SPREAD))

    assert "number format not stated: read as inch 3.5" in notes[0].text


def test_file_of_few_holes_is_read_as_its_sister() -> None:
    numbers = NumberFormat(INCH, 3, 5)
    large = parse_drill(drill_file(SPREAD, numbers, "INCH"), "large")
    small = parse_drill(drill_file([(20.0, 20.0), (21.0, 21.0)], numbers, "INCH"), "small")

    formats, _ = choose([small, large], copper_of(SPREAD))

    assert formats["small"] == formats["large"]
    assert formats["small"].fraction == 5


def test_decimal_numbers_need_only_the_unit() -> None:
    text = "\n".join(["M48", "T1C0.04", "%", "T1", *(f"X{x / 25.4}Y{y / 25.4}" for x, y in SPREAD)])
    file = parse_drill(text, "d")

    formats, _ = choose([file], copper_of(SPREAD))

    assert formats["d"].unit == INCH


@pytest.mark.parametrize("with_copper", [True, False])
def test_unit_that_nothing_tells_is_refused(with_copper: bool) -> None:
    file = parse_drill("%\nT1C0.8\nX900.0Y900.0\nX950.0Y910.0\nM30\n", "d")

    with pytest.raises(ReadError, match=r"^d: states no unit.*INCH or METRIC in the header"):
        choose([file], copper_of(SPREAD) if with_copper else None)
