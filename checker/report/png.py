"""A picture as PNG, drawn from the SVG by a library that has to be installed for it."""

from __future__ import annotations

import struct
import zlib
from functools import cache

from checker.errors import UsageError

_HEADER = 33  # bytes of signature and first chunk (PNG, third edition, 5.2 and 11.2.1)
MARK = b"Software\0cutworthy"
# Families of sans serif that systems ship, the commonest first; the library knows no substitutes.
_FAMILIES = (
    "Arial",
    "Helvetica",
    "Liberation Sans",
    "DejaVu Sans",
    "Noto Sans",
    "Open Sans",
    "Roboto",
    "Ubuntu",
    "Cantarell",
    "FreeSans",
)
_PROBE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">'
    '<text y="9" font-size="9" font-family="sans-serif">{}</text></svg>'
)


def require() -> None:
    """See to it that pictures can be drawn.

    Raises:
        UsageError: the library is missing, or the system has no font for the picture's text.
    """
    try:
        import resvg_py  # noqa: F401 - whether it is there
    except ImportError:
        raise UsageError(
            "--format png",
            "needs the library resvg-py, which is not installed",
            advice='run pip install "cutworthy[png]", or take --format svg',
        ) from None
    _sans()


def png(svg: str) -> bytes:
    """The picture with the width and height that the SVG names.

    Raises:
        UsageError: as ``require``.
    """
    require()
    from resvg_py import svg_to_bytes

    return _marked(bytes(svg_to_bytes(svg_string=svg, sans_serif_family=_sans())))


@cache
def _sans() -> str:
    """A family that is there: without one, text would be left out and nobody told."""
    from resvg_py import svg_to_bytes

    empty = svg_to_bytes(svg_string=_PROBE.format(""), skip_system_fonts=True)
    for family in _FAMILIES:
        if svg_to_bytes(svg_string=_PROBE.format("8"), sans_serif_family=family) != empty:
            return family
    raise UsageError(
        "--format png",
        "the system has no font for text",
        f"one of {', '.join(_FAMILIES[:4])}",
        "install one, or take --format svg",
    )


def _marked(image: bytes) -> bytes:
    """With a chunk of text that says who made it."""
    body = b"tEXt" + MARK
    chunk = struct.pack(">I", len(MARK)) + body + struct.pack(">I", zlib.crc32(body))
    return image[:_HEADER] + chunk + image[_HEADER:]
