"""What relief did as one page that needs no network and no script: places before and after."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
import shapely
from markupsafe import Markup
from msgspec import Struct

from checker.measure.clipping import clipped
from checker.report import words
from checker.report.drawing import Frame, holes
from checker.report.html.assets import asset, environment, policy
from checker.report.relief_document import areas
from checker.report.relief_text import summary

if TYPE_CHECKING:
    from checker.board import Board
    from checker.relief.make import Made
    from checker.relief.model import Place

_TEMPLATE = "relief.html.j2"
_MOST, _MOST_OF_CAUSE = 60, 12  # places shown
_HIGH, _ASPECT = 6.0, 4 / 3  # a crop is so many cuts high
_LEAST = 1.2  # mm


class Pair(Struct, frozen=True):
    """A place before and after: markup of two drawings of one size, um, and what they show."""

    width: int
    height: int
    before: Markup
    after: Markup
    where: str
    says: str


class Group(Struct, frozen=True):
    """Places with one cause: how many, how many of them are opened, and some of them drawn."""

    title: str
    count: int
    opened: int
    pairs: tuple[Pair, ...]


def relief_page(made: Made) -> str:
    """The page."""
    relief = made.relief
    style = asset("page.css") + asset("relief.css")
    return (
        environment(_TEMPLATE)
        .get_template(_TEMPLATE)
        .render(
            board=relief.board.name,
            profile=relief.process.name,
            before=words.first_up(words.state(made.before.verdict.value)),
            after=words.first_up(words.state(made.after.verdict.value)),
            how_far=words.how_far(made.after),
            verdict=made.after.verdict.value,
            summary=summary(relief),
            no_margin=words.first_up(words.no_margin(relief.process) or ""),
            taken=[
                (side, f"{before - after:.2f} of {before:.0f} mm²")
                for side, before, after in areas(relief.board, made.board)
            ],
            unrelieved=list(made.unrelieved.items()),
            remarks=[words.message(one) for one in made.remarks],
            unchecked=words.by_reason(made.after.unchecked),
            notes=list(map(words.remark, relief.board.notes)),
            groups=_groups(made),
            left=[(place, _why(place)) for place in relief.left[:_MOST]],
            more=max(0, len(relief.left) - _MOST),
            cautions=words.cautions(relief.process.method),
            style=Markup(style),
            policy=policy(style),
        )
    )


def _why(place: Place) -> str:
    if place.missing:
        return f"{place.missing:.3f} mm missing, no more to spare on {place.lacking}"
    return place.lacking


def _groups(made: Made) -> list[Group]:
    by_cause: defaultdict[str, list[Place]] = defaultdict(list)
    for place in made.relief.places:
        by_cause[place.cause].append(place)
    groups, room = [], _MOST
    for cause, places in sorted(by_cause.items(), key=lambda one: -len(one[1])):
        opened = [place for place in places if place.channel is not None]
        shown = opened[: min(_MOST_OF_CAUSE, room)]
        room -= len(shown)
        pairs = tuple(_pair(made, place) for place in shown)
        groups.append(Group(cause, len(places), len(opened), pairs))
    return groups


def _pair(made: Made, place: Place) -> Pair:
    relief = made.relief
    high = max(_LEAST, _HIGH * relief.width)
    frame = Frame.round(place.x, place.y, high * _ASPECT, high)
    was, now = _copper(relief.board, place, frame), _copper(made.board, place, frame)
    width, height = frame.size
    turn = f' transform="translate({width} 0) scale(-1 1)"' * (place.side == "bottom")
    drilled = _holes(relief.board, frame)
    ground = f'<rect class="laminate" width="{width}" height="{height}"/><g{turn}>'
    taken = shapely.difference(was, now)
    before = f'{ground}<path class="copper" d="{frame.path(now)}"/>'
    before += f'<path class="taken" d="{frame.path(taken)}"/>{drilled}</g>'
    after = f'{ground}<path class="copper" d="{frame.path(now)}"/>{drilled}'
    after += f"{_disc(made, place, frame)}</g>"
    gives = "; ".join(f"{one.most:.3f} mm from {one.who}" for one in place.taken)
    return Pair(
        width,
        height,
        Markup(before),
        Markup(after),
        f"{place.side}, x {place.x:.3f}, y {place.y:.3f}",
        f"{place.between}: {place.fits:.3f} mm passed; {gives or 'opened with its neighbour'}",
    )


def _disc(made: Made, place: Place, frame: Frame) -> str:
    """The cut that has to pass, where it stands in the gap."""
    assert place.channel is not None
    channel = made.relief.channels[place.channel]
    way = shapely.LineString(channel.path)
    at = way.interpolate(way.project(shapely.Point(place.x, place.y)))
    x, y = frame.at(at.x, at.y)
    return f'<circle class="cutter" cx="{x}" cy="{y}" r="{round(made.relief.width * 500)}"/>'


def _copper(board: Board, place: Place, frame: Frame) -> shapely.Geometry:
    islands = board.copper[place.layer].islands
    x0, y0, x1, y1 = frame.box
    boxes = shapely.bounds(islands)
    near = (boxes[:, 0] < x1) & (boxes[:, 2] > x0) & (boxes[:, 1] < y1) & (boxes[:, 3] > y0)
    return shapely.union_all(clipped(islands[near], frame.box))


def _holes(board: Board, frame: Frame) -> str:
    x0, y0, x1, y1 = frame.box
    shown = [
        hole
        for hole in board.holes
        if _meets(np.array(hole.path, dtype=float), hole.diameter / 2, (x0, y0, x1, y1))
    ]
    return "".join(
        f'<path class="hole" stroke-width="{diameter}" d="{path}"/>'
        for diameter, path in holes(frame, shown).items()
    )


def _meets(path: np.ndarray, radius: float, box: tuple[float, float, float, float]) -> bool:
    low, high = path.min(axis=0) - radius, path.max(axis=0) + radius
    return bool(low[0] < box[2] and high[0] > box[0] and low[1] < box[3] and high[1] > box[1])
