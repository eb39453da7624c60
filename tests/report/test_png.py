from __future__ import annotations

import io
import os
import subprocess
import sys
import zlib
from pathlib import Path

import pytest

from checker.errors import UsageError
from checker.report.png import png
from checker.report.svg import svg_picture
from tests.report.judging import sample

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="30" height="20">{}</svg>'
SQUARE = '<rect x="10" y="0" width="10" height="20" fill="#ff0000"/>'
LETTER = '<text y="19" font-size="20" font-family="Helvetica, Arial, sans-serif">8</text>'


def pixels(image: bytes) -> tuple[int, int, bytes]:
    """Width, height and rows of RGBA, by the decoder of another library."""
    from PIL import Image

    with Image.open(io.BytesIO(image)) as picture:
        picture.load()
        return *picture.size, picture.convert("RGBA").tobytes()


def test_picture_has_the_size_and_colours_of_the_svg() -> None:
    width, height, rows = pixels(png(SVG.format(SQUARE)))

    assert (width, height) == (30, 20)
    assert rows[4 * 15 : 4 * 16] == bytes((255, 0, 0, 255))
    assert rows[4 * 5 : 4 * 6] == bytes(4)


def test_text_is_drawn() -> None:
    assert any(pixels(png(SVG.format(LETTER)))[2])


def test_every_chunk_is_whole_and_one_says_who_made_it() -> None:
    image, chunks, at = png(SVG.format(SQUARE)), [], 8

    while at < len(image):
        size = int.from_bytes(image[at : at + 4])
        body = image[at + 4 : at + 8 + size]
        assert zlib.crc32(body) == int.from_bytes(image[at + 8 + size : at + 12 + size])
        chunks.append(body)
        at += size + 12

    assert chunks[1] == b"tEXtSoftware\0cutworthy"
    assert chunks[-1] == b"IEND"


def test_picture_of_a_board_has_both_sides_of_it() -> None:
    judged = sample("boards/hive-scale")

    width, height, rows = pixels(png(svg_picture(judged.report, judged.measured)))

    assert width > height > 200
    assert len(set(zip(rows[0::4], rows[1::4], rows[2::4], strict=True))) > 10


def test_missing_library_is_one_line_that_says_how_to_get_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)

    with pytest.raises(UsageError, match=r'pip install "cutworthy\[png\]"'):
        png(SVG.format(SQUARE))


@pytest.mark.skipif(sys.platform != "linux", reason="fonts are hidden by a file of fontconfig")
def test_system_without_a_font_is_told_instead_of_leaving_the_text_out(tmp_path: Path) -> None:
    (tmp_path / "fonts.conf").write_text(f"<fontconfig><dir>{tmp_path}</dir></fontconfig>")
    code = f"from checker.report.png import png\npng({SVG.format(LETTER)!r})"

    ended = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "FONTCONFIG_FILE": str(tmp_path / "fonts.conf")},
        capture_output=True,
        text=True,
        check=False,
    )

    assert ended.returncode == 1
    assert "the system has no font for text" in ended.stderr
