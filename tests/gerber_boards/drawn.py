"""Hypothesis strategies that draw plans of boards.

They favour what fails: things near each other, pads in pours that are cleared and drawn again,
repeats whose copies nearly touch, one thing laid over another. A plan shrinks to fewer and simpler
things.
"""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st
from msgspec.structs import replace

from tests.built import built
from tests.gerber_boards.plan import (
    RIM,
    Aperture,
    Arc,
    Area,
    Bar,
    Bend,
    Block,
    Corners,
    Dialect,
    Disc,
    Flash,
    Hole,
    Line,
    Loop,
    Macro,
    Mark,
    Obround,
    Plan,
    Point,
    Rectangle,
    Regular,
    Round,
    Steps,
    Stroke,
    Thermal,
    Turned,
    on_rim,
)

SIZE = 260  # steps: a board of some 3 mm

_on_grid = st.integers(0, SIZE // 10).map(lambda n: 10 * n)
_along = _on_grid | st.integers(0, SIZE)
places: st.SearchStrategy[Point] = st.tuples(_along, _along)
near: st.SearchStrategy[Point] = st.tuples(st.integers(-40, 40), st.integers(-40, 40))
sizes = st.integers(12, 90)
pens = st.integers(4, 40).map(Round)
angles = st.sampled_from([0, 90, 45, 180, 270]) | st.integers(0, 359)


def _evenly(*kinds: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """One of these, each as often; `one_of` would count the branches of each."""
    return st.sampled_from(range(len(kinds))).flatmap(lambda kind: kinds[kind])


def _hole_in(aperture: Any) -> st.SearchStrategy[Any]:
    """Sometimes with a round hole; it may eat the whole of a slim one."""
    largest = min(getattr(aperture, name, 999) for name in ("size", "width", "height")) - 4
    return st.integers(3, max(3, largest * 2 // 3)).map(lambda hole: replace(aperture, hole=hole))


plain: st.SearchStrategy[Any] = st.one_of(
    built(Round, sizes),
    built(Rectangle, sizes, sizes),
    built(Obround, sizes, sizes),
    built(Regular, sizes, st.integers(3, 12), angles),
)
holed = plain.flatmap(_hole_in)
_primitives = _evenly(
    built(Disc, st.booleans(), sizes, near, angles),
    built(Bar, st.booleans(), sizes, sizes, near, angles),
    built(Corners, st.booleans(), st.integers(3, 12), sizes, near, angles),
    built(Line, st.booleans(), sizes, near, st.tuples(st.integers(50, 90), near.map(sum)), angles),
    built(Thermal, near, st.integers(50, 100), st.integers(10, 40), st.integers(4, 20), angles),
    built(
        Loop,
        st.booleans(),
        st.tuples(
            st.tuples(st.integers(10, 50), st.integers(-20, 0)),
            st.tuples(st.integers(-10, 9), st.integers(10, 50)),
            st.tuples(st.integers(-50, -11), st.integers(-50, 0)),
        ),
        angles,
    ),
)
macros = built(
    Macro,
    st.tuples(built(Disc, st.just(True), sizes, near, angles), _primitives)
    | st.lists(_primitives, min_size=1, max_size=4).map(
        lambda parts: (Bar(True, 60, 50, (0, 0), 0), *parts)
    ),
    st.booleans(),
)
apertures: st.SearchStrategy[Aperture] = _evenly(plain, holed, macros)

turns = st.just(Turned()) | built(
    Turned,
    st.sampled_from(["N", "X", "Y", "XY"]),
    angles,
    st.sampled_from([100, 50, 80, 125]),
)

_strokes = built(
    Stroke,
    pens | built(Rectangle, st.integers(4, 40), st.integers(4, 40)),
    st.lists(places, min_size=2, max_size=5, unique=True).map(tuple),
)
_arcs = built(
    Arc,
    pens,
    places,
    st.integers(5, 16),
    st.integers(0, len(RIM) - 1),
    st.integers(0, len(RIM) - 1),
    st.booleans(),
)


@st.composite
def contours(draw: st.DrawFn) -> Area:
    """A contour that does not cross itself: corners round a middle, a sector, or a ring."""
    middle, kind = draw(places), draw(st.integers(0, 2))
    if kind == 0:
        rim = sorted(draw(st.sets(st.integers(0, 11), min_size=1, max_size=6)) | {0, 4, 8})
        corners = [on_rim(middle, draw(st.integers(4, 20)), place) for place in rim]
        return Area(corners[0], (*corners[1:], corners[0]))
    fifth = draw(st.integers(5, 20))
    if kind == 1:
        first, more = draw(st.integers(0, 11)), draw(st.integers(2, 10))
        ends = on_rim(middle, fifth, first), on_rim(middle, fifth, first + more)
        clockwise = draw(st.booleans())
        start, end = reversed(ends) if clockwise else ends
        return Area(middle, (start, Bend(end, middle, clockwise), middle))
    start = on_rim(middle, fifth, 0)
    inner = on_rim(middle, draw(st.integers(2, fifth - 2)), 0)
    return Area(start, (Bend(start, middle, False), inner, Bend(inner, middle, True), start))


_simple = _evenly(
    built(Flash, apertures, places),
    built(Flash, apertures, places),
    _strokes,
    _arcs,
    contours(),
)
_dark_or_clear = st.sampled_from([True, True, True, False])
simple_marks = built(Mark, _simple, _dark_or_clear, turns)


def _about_origin(mark: Mark) -> Mark:
    """A mark of a block, moved so that the block lies about its origin."""
    return replace(mark, thing=_moved(mark.thing, -SIZE // 2, -SIZE // 2))


def _moved(thing: Any, dx: int, dy: int) -> Any:
    def there(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    match thing:
        case Flash(aperture, at):
            return Flash(aperture, there(at))
        case Stroke(pen, points):
            return Stroke(pen, tuple(map(there, points)))
        case Arc():
            return replace(thing, centre=there(thing.centre))
        case Area(start, legs):
            moved = (
                Bend(there(leg.end), there(leg.centre), leg.clockwise)
                if isinstance(leg, Bend)
                else there(leg)
                for leg in legs
            )
            return Area(there(start), tuple(moved))
    raise TypeError(thing)


blocks = st.lists(simple_marks.map(_about_origin), min_size=1, max_size=3).map(
    lambda marks: Block(tuple(marks))
)
_flashed = st.one_of(
    built(Flash, blocks, places),
    built(
        lambda inner, at, turned, place: Flash(
            Block((Mark(Flash(inner, at), True, turned),)), place
        ),
        blocks,
        near,
        turns,
        places,
    ),
)


@st.composite
def repeats(draw: st.DrawFn) -> Steps:
    """Rows of pads with narrow gaps between them, or any marks again and again."""
    count = draw(st.integers(1, 3)), draw(st.integers(1, 3))
    if draw(st.booleans()):
        pad = draw(built(Rectangle, sizes, sizes) | built(Obround, sizes, sizes))
        step = pad.width + draw(st.integers(8, 40)), pad.height + draw(st.integers(8, 40))
        return Steps(count, step, (Mark(Flash(pad, draw(places))),))
    marks = draw(st.lists(simple_marks, min_size=1, max_size=2))
    step = draw(st.integers(20, 120)), draw(st.integers(20, 120))
    return Steps(count, step, tuple(marks))


@st.composite
def poured(draw: st.DrawFn) -> list[Mark]:
    """A pour, cleared round pads that are drawn again; some pads joined to it by a trace."""
    low, width, height = draw(places), draw(st.integers(60, SIZE)), draw(st.integers(60, SIZE))
    (x, y), (w, h) = low, (width, height)
    corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    marks = [Mark(Area(corners[0], (*corners[1:], corners[0])))]
    clearance = draw(st.integers(8, 40))
    for _ in range(draw(st.integers(1, 3))):
        pad, at = draw(built(Round, sizes) | built(Rectangle, sizes, sizes)), draw(places)
        wider = {
            name: getattr(pad, name) + 2 * clearance
            for name in ("size", "width", "height")
            if hasattr(pad, name)
        }
        marks += [Mark(Flash(replace(pad, **wider), at), False), Mark(Flash(pad, at))]
        if draw(st.booleans()):
            end = at[0] + draw(st.integers(-90, 90)), at[1]
            marks.append(Mark(Stroke(draw(pens), (at, end))))
    return marks


_marks = _evenly(
    simple_marks.map(lambda mark: [mark]),
    simple_marks.map(lambda mark: [mark]),
    simple_marks.map(lambda mark: [mark]),
    built(Mark, _flashed, _dark_or_clear, turns).map(lambda mark: [mark]),
    repeats().map(lambda steps: [Mark(steps)]),
    poured(),
)


def layers(least: int, most: int) -> st.SearchStrategy[tuple[Mark, ...]]:
    """The marks of a layer: a dark pad, then so many things."""
    pad = built(Flash, plain, places).map(Mark)
    return st.tuples(pad, st.lists(_marks, min_size=least, max_size=most)).map(
        lambda drawn: (drawn[0], *(mark for marks in drawn[1] for mark in marks))
    )


dialects = _evenly(
    built(
        Dialect,
        st.just(False),
        st.sampled_from([2, 3, 4]),
        st.sampled_from([6, 5, 4, 3]),
        st.sampled_from(["L", "T"]),
        st.booleans(),
        st.booleans(),
    ),
    built(
        Dialect,
        st.just(True),
        st.sampled_from([2, 3]),
        st.sampled_from([6, 5, 4]),
        st.sampled_from(["L", "T"]),
        st.booleans(),
        st.booleans(),
    ),
)


def _pads(marks: tuple[Mark, ...]) -> list[Mark]:
    return [mark for mark in marks if isinstance(mark.thing, Flash) and mark.dark]


def holes_at(where: st.SearchStrategy[Point]) -> st.SearchStrategy[Hole]:
    """A hit, or a slot from there to anywhere."""
    size = st.sampled_from([8, 20, 30])
    return built(Hole, where, size) | built(Hole, where, size, places, st.booleans())


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """A board of one copper layer or two, these with some of the pads and holes in common."""
    top = draw(layers(1, 11))
    if draw(st.booleans()):
        return Plan(draw(dialects), top)
    through = draw(st.lists(st.sampled_from(_pads(top)), min_size=1, max_size=3))
    bottom = draw(layers(1, 5)) + tuple(through)
    where = st.sampled_from([mark.thing.at for mark in through]) | places  # type: ignore[union-attr]
    holes = draw(st.lists(holes_at(where), max_size=4))
    return Plan(draw(dialects), top, bottom, tuple(holes), draw(st.booleans()), draw(st.booleans()))


cuts = st.floats(0.05, 0.6)
"""Widths of cuts in mm."""
