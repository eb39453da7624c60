"""Single-construct files of others: the format owner's examples, and collections of readers.

They lie beside the checkout and are never copied. Areas: README.md beside them, found by at least
two readers with chords of 1 um sagitta whose corners lie on the curve, hence a little small.
"""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
import shapely

from checker.errors import ReadError
from checker.read.gerber import TOLERANCE, curves, flatten, parse_gerber
from tests.read.gerber.written import SHARED, needs_conformance

pytestmark = needs_conformance

FOLDER = SHARED / "conformance"
FILES = sorted(
    path.relative_to(FOLDER).as_posix()
    for path in FOLDER.rglob("*")
    if path.suffix in (".gbr", ".grb")
)
REFUSED = {
    "spec-sections/4.10.4.7/source.grb": "no unit before the first size or coordinate",
}
NOTED = {
    "spec-sections/2.11.2/source.grb": ["text after the end of the program, ignored"],
    "spec-sections/2.11.2/source_no_macro.grb": ["text after the end of the program, ignored"],
    "tracespace/regions/region-with-lines.gbr": ["open contour, closed by a straight line"],
}
AREAS = {
    "2-13-1_Two_square_boxes": 0.4000,
    "2-13-2_Polarities_and_Apertures": 406.465,
    "4-6-4_Nested_blocks": 159_702.87,
    "4-11-6_Block_with_different_orientations": 16.8245,
    "6-1-6-2_A_drill_file": 1.1864,
    "sample_macro_X1": 9.2960,
}


def islands(name: str) -> Any:
    """What a file leaves of copper."""
    text = (FOLDER / name).read_text(encoding="latin-1")
    return flatten(parse_gerber(text, name).objects)[0]


@pytest.mark.parametrize("name", FILES)
def test_every_file_reads_or_is_refused_with_its_reason(name: str) -> None:
    text = (FOLDER / name).read_text(encoding="latin-1")
    if name in REFUSED:
        with pytest.raises(ReadError, match=REFUSED[name]):
            parse_gerber(text, name)
        return

    file = parse_gerber(text, name)
    found, island_of = flatten(file.objects)
    assert shapely.is_valid(found).all()
    assert len(found) > 0
    assert island_of.max() < len(found)
    assert (island_of >= 0).any()
    assert [note.text for note in file.notes] == NOTED.get(name, [])


@pytest.mark.parametrize("stem", AREAS)
def test_areas_found_by_other_readers(stem: str) -> None:
    found = islands(f"official/{stem}.gbr")

    # Each reader is within the tolerance of the true boundary, so the areas differ at most so.
    chords = TOLERANCE * shapely.length(found).sum()
    assert shapely.area(found).sum() == pytest.approx(AREAS[stem], abs=chords)


@pytest.mark.parametrize("stem", ["2-13-2_Polarities_and_Apertures", "4-6-4_Nested_blocks"])
def test_areas_of_large_shapes_agree_to_a_ten_thousandth(stem: str) -> None:
    area = shapely.area(islands(f"official/{stem}.gbr")).sum()

    assert area == pytest.approx(AREAS[stem], rel=1e-4)


@pytest.mark.parametrize("stem", AREAS)
def test_chords_change_no_area_by_more_than_a_ten_thousandth(
    stem: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    coarse = shapely.area(islands(f"official/{stem}.gbr")).sum()

    monkeypatch.setattr(curves, "TOLERANCE", TOLERANCE / 100)
    fine = shapely.area(islands(f"official/{stem}.gbr")).sum()
    assert coarse == pytest.approx(fine, rel=1e-4)


def test_area_of_the_drill_file_is_that_of_its_circles() -> None:
    # 8 holes of 0.14, 8 of 0.24, 2 of 0.43 and 11 of 0.22 mm, none touching another.
    true = math.pi / 4 * (8 * 0.14**2 + 8 * 0.24**2 + 2 * 0.43**2 + 11 * 0.22**2)

    assert shapely.area(islands("official/6-1-6-2_A_drill_file.gbr")).sum() == pytest.approx(
        true, rel=1e-4
    )


def test_area_of_the_two_boxes_is_that_of_their_strokes() -> None:
    # Squares of 5 mm drawn with a round pen of 0.01 mm: outer corners are round.
    true = 2 * (5.01**2 - (4 - math.pi) * 0.005**2 - 4.99**2)

    assert shapely.area(islands("official/2-13-1_Two_square_boxes.gbr")).sum() == pytest.approx(
        true, rel=1e-4
    )


# Pictures whose frame is stated in inches fit the image exactly; the others are rounded. Left out:
# pictures with space around the image, and arcs drawn with another radius than the file states.
LOOSE = (
    "macro-primitives/moire-primitive",
    "macro-primitives/rotated-moire-primitive",
    "macros/multiple-exposures",
    "arc-strokes/single-quadrant-II-to-III",
    "arc-strokes/single-quadrant-III-to-IV",
    "arc-strokes/single-quadrant-IV-to-I",
)
FRAME = re.compile(r'width="([\d.]+)in"\s+height="([\d.]+)in"')
FRAMED = {
    path.relative_to(FOLDER).as_posix(): match
    for path in sorted((FOLDER / "tracespace").rglob("*.svg"))
    if path.with_suffix(".gbr").is_file()
    and path.relative_to(FOLDER / "tracespace").with_suffix("").as_posix() not in LOOSE
    and (match := FRAME.search(path.read_text(encoding="utf-8"))) is not None
}


@pytest.mark.parametrize("name", FRAMED)
def test_image_fills_the_frame_of_its_picture(name: str) -> None:
    width, height = (float(text) * 25.4 for text in FRAMED[name].groups())

    x0, y0, x1, y1 = shapely.total_bounds(islands(name.replace(".svg", ".gbr")))
    assert (x1 - x0, y1 - y0) == pytest.approx((width, height), abs=2 * TOLERANCE)
