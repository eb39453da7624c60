"""Boards for the rules on joints by hand: a layout is drawn as files and read again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.measure import measure
from checker.process.shop import Joints
from checker.read import read_board
from samples import parts
from samples.draw import files
from samples.layout import Layout
from tests.handmade import PLAIN

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from checker.board import Board
    from checker.measure import Facts
    from checker.process.model import Process

VIA = (1.9, 0.9)


def board_of(
    layout: Layout, folder: Path, changed: Mapping[str, str | None] | None = None
) -> Board:
    """The layout as read from its files; ``changed`` files are written instead, None leaves out."""
    texts = files(layout) | dict(changed or {})
    for name, text in texts.items():
        if text is not None:
            (folder / name).write_text(text, encoding="utf-8")
    return read_board([folder])


def facts_of(
    layout: Layout, folder: Path, changed: Mapping[str, str | None] | None = None
) -> Facts:
    """The same with its gaps and necks measured."""
    return measure(board_of(layout, folder, changed))


def joining(**joints: object) -> Process:
    """A process with these joints."""
    return replace(PLAIN, joints=Joints(**joints))  # type: ignore[arg-type] # fields by name


def leap(*, over_vias: bool = True, x: float = 13.0) -> Layout:
    """A line on the top from post to post, from their own pads or from vias ``x`` from the edge."""
    board = Layout("leap", (40.0, 24.0))
    board.place(parts.header(1), "J1", 5.0, 12.0, ["LINE"])
    board.place(parts.header(1), "J2", 35.0, 12.0, ["LINE"])
    ends = (x, 40.0 - x) if over_vias else (5.0, 35.0)
    board.track("top", 0.8, "LINE", *((end, 12.0) for end in ends))
    board.place(parts.header(1), "J3", 20.0, 4.0, ["OTHER"])
    board.place(parts.header(1), "J4", 20.0, 20.0, ["OTHER"])
    board.track("bottom", 0.8, "OTHER", (20.0, 4.0), (20.0, 20.0))
    if over_vias:
        for end, post in zip(ends, (5.0, 35.0), strict=True):
            board.via(end, 12.0, "LINE", *VIA)
            board.track("bottom", 0.8, "LINE", (post, 12.0), (end, 12.0))
    return board


def without_parts(layout: Layout) -> dict[str, str | None]:
    """What to change so that no component layer is there."""
    return dict.fromkeys((name for name in files(layout) if name.startswith("components")), None)


def without_words(layout: Layout) -> dict[str, str | None]:
    """What to change so that no file names nets, parts, pins or functions of apertures."""
    changed: dict[str, str | None] = {}
    for name, text in files(layout).items():
        lines = text.splitlines(keepends=True)
        spoken = ("%TO", "%TA", "%TD", "; #@! TA", "; #@! TD")
        changed[name] = "".join(line for line in lines if not line.startswith(spoken))
    return changed | without_parts(layout)
