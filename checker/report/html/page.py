"""The page, from reports and facts to text."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from msgspec import Struct

from checker.findings import State, Verdict
from checker.plural import listed
from checker.report import accepted, words
from checker.report.drawing import Frame, outer_layers
from checker.report.html.assets import asset, environment, policy
from checker.report.html.columns import Columns, packed
from checker.report.html.crops import Places, crop_of
from checker.report.html.left import left_on
from checker.report.html.settings import Wider, settled, stops
from checker.report.json import number, window_document
from checker.report.svg import layer_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.board import Board
    from checker.findings import Cause, Finding, Report
    from checker.measure import Facts
    from checker.report.html.crops import Crop
    from checker.report.svg import Layer

_TEMPLATE = "page.html.j2"
_SCRIPTS = ("unpack.js", "sheet.js", "marks.js", "places.js", "remains.js", "slider.js", "start.js")
_MOST_WHOLE = 300  # findings that are all written out; of more, the worst of each cause
_MOST_PLACES = 5
_MOST_JUDGED = 3000  # findings up to which every rule is asked at every setting of the slider


class Place(Struct, frozen=True):
    """A row of a cause."""

    id: str
    where: str
    message: str
    remedy: str
    state: str


class CauseShown(Struct, frozen=True):
    """A cause as the page shows it."""

    number: int
    cause: Cause
    title: str
    remedy: str
    worst: str
    limit: str
    crop: Crop | None
    where: str
    places: tuple[Place, ...]
    count: int


class Passed(Struct, frozen=True):
    """What lets findings pass, with some of them or all."""

    says: str
    places: tuple[Place, ...]
    count: int


class Side(Struct, frozen=True):
    """A side as it is drawn."""

    layer: Layer
    left: Markup
    marks: tuple[Mark, ...]
    geometry: int | None


class Mark(Struct, frozen=True):
    """The worst place of a cause on the drawing, um."""

    number: int
    state: str
    x: int
    y: int
    says: str


class Sheet(Struct, frozen=True):
    """One report on the page."""

    number: int
    report: Report
    title: str
    verdict: str
    how_far: str
    verdict_says: str
    cut: str
    depths: str
    size: str
    frame: tuple[int, int]
    sides: tuple[Side, ...]
    causes: tuple[CauseShown, ...]
    summary: str
    joined: tuple[tuple[str, tuple[str, ...]], ...]
    unchecked: tuple[tuple[str, list[str]], ...]
    accepted: tuple[Passed, ...]
    stale: tuple[str, ...]
    notes: tuple[str, ...]
    examined: tuple[str, ...]
    cautions: tuple[str, ...]
    data: str
    letter: int


def html_page(pairs: Sequence[tuple[Report, Facts]], seconds: float) -> str:
    """The page of one report or several; the same bytes for the same input but for the seconds.

    Args:
        pairs: reports, each with the facts it comes from. What the slider needs beyond them is
            measured here.
        seconds: how long it took.
    """
    sheets = []
    drawn: dict[int, int] = {}
    wider = Wider(pairs)
    for index, (report, facts) in enumerate(pairs):
        sheets.append(_sheet(index, report, facts, wider, drawn))
    style, script = asset("page.css"), "".join(map(asset, _SCRIPTS))
    return (
        environment(_TEMPLATE)
        .get_template(_TEMPLATE)
        .render(
            sheets=sheets,
            title=_page_title(sheets),
            style=Markup(style),
            script=Markup(script),
            policy=policy(style, script),
            seconds=f"{seconds:.2f}",
            took=words.TOOK,
        )
    )


def _page_title(sheets: Sequence[Sheet]) -> str:
    if len(sheets) == 1:
        return f"{sheets[0].verdict}: {sheets[0].title}{sheets[0].how_far}"
    boards = dict.fromkeys(words.plain(sheet.report.board.name) for sheet in sheets)
    return f"{len(sheets)} reports: {', '.join(boards)}"


def _sheet(index: int, report: Report, facts: Facts, wider: Wider, drawn: dict[int, int]) -> Sheet:
    board, process = facts.board, report.process
    frame, places = Frame.of(board), Places(facts)
    settings = settled(facts, process, wider)
    document = Columns(report, facts, settings[1] if settings else facts, frame).document(places)
    if settings is not None:
        scale, wide = settings
        quick = len(report.findings) > _MOST_JUDGED
        document |= {
            "what": scale.what,
            "own": scale.own,
            "stops": stops(report, facts, wide, scale, quick),
        }
        document["tool"] = process.bit is not None
        document["window"] = _window(report)
    causes = tuple(
        _cause(rank, cause, report, facts, places, f"{index}-{rank}")
        for rank, cause in enumerate(report.causes, 1)
    )
    earlier = drawn.get(id(board))
    drawn.setdefault(id(board), index)
    width, height = frame.size
    return Sheet(
        number=index,
        report=report,
        title=f"{words.plain(board.name)} with {words.plain(process.name)}",
        verdict=words.first_up(words.state(report.verdict.value)),
        how_far=words.how_far(report),
        verdict_says=_says(report),
        cut=". ".join(words.first_up(text) for text in _cut(report)),
        depths=""
        if report.window is None
        else words.first_up(words.depths(report.window, process)),
        size="{:.1f} × {:.1f} mm".format(*board.size),
        frame=frame.size,
        sides=tuple(
            Side(
                layer_of(board, frame, row),
                _left(board, row, report, frame),
                tuple(_marks(report, frame, layer.side)),
                earlier,
            )
            for row, layer in outer_layers(board)
        ),
        causes=causes,
        summary=_summary(report),
        joined=tuple(
            (side, tuple(words.plain(net, 40) for net in nets)) for side, nets in report.joined
        ),
        unchecked=tuple(words.by_reason(report.unchecked).items()),
        accepted=_accepted(report),
        stale=tuple(map(accepted.stale, report.stale)),
        notes=tuple(map(words.remark, board.notes)),
        examined=tuple(_examined(report)),
        cautions=words.cautions(process.method),
        data=packed(document),
        letter=max(width, height) // 90 + 150,
    )


def _cut(report: Report) -> Iterable[str]:
    """How wide the cut is, who says so, and what would help."""
    yield words.cut_width(report.process)
    others = (
        words.measured_when(report.process),
        words.drawer(report),
        words.relief(report),
        words.unplanned(report),
        words.no_margin(report.process),
    )
    yield from (text for text in others if text is not None)


def _says(report: Report) -> str:
    causes = "what was accepted" if report.accepted and not report.causes else "the causes"
    match report.verdict:
        case Verdict.MAKEABLE:
            return f"Every gap opens and nothing stands against it{words.how_far(report)}"
        case Verdict.MARGINAL:
            return f"It works with care, luck or hand work{words.how_far(report)}: see {causes}"
        case Verdict.NOT_MAKEABLE:
            return f"Made as it is, it will not work: see {causes}"
        case _:
            return "Nothing was there to judge, which is no pass"


def _summary(report: Report) -> str:
    if not report.causes:
        return f"No findings{accepted.told(report)}"
    states = Counter(found.seen.state for found in report.findings)
    parts = ", ".join(_in_state(states[state], state) for state in State if states[state])
    causes = words.count(len(report.causes), "cause")
    places = words.count(len(report.findings), "place")
    return f"{causes}, {places}: {parts}{accepted.told(report)}"


def _in_state(number: int, state: State) -> str:
    if state is State.REMARK:
        return words.count(number, "remark")
    return f"{number} {words.state(state.value)}"


def _cause(
    number: int, cause: Cause, report: Report, facts: Facts, places: Places, name: str
) -> CauseShown:
    shown = cause.findings
    if len(report.findings) > _MOST_WHOLE:
        shown = shown[:_MOST_PLACES]
    worst, typical = cause.findings[0].seen, _typical(cause)
    return CauseShown(
        number=number,
        cause=cause,
        title=words.first_up(words.plain(cause.cause, 200)),
        remedy=words.first_up(words.plain(cause.remedy, 300)),
        worst="" if worst.measured is None else words.mm(worst.measured),
        limit="" if worst.limit is None else words.mm(worst.limit),
        crop=crop_of(facts, report.process, typical, places, name),
        where=_place(typical).where,
        places=tuple(map(_place, shown)),
        count=len(cause.findings),
    )


def _typical(cause: Cause) -> Finding:
    """The worst place that is a place."""
    placed = (found for found in cause.findings if found.seen.x is not None)
    return next(placed, cause.findings[0])


def _place(found: Finding) -> Place:
    seen = found.seen
    side = seen.side or "board"
    at = "" if seen.x is None or seen.y is None else f" {seen.x:.3f}, {seen.y:.3f}"
    return Place(
        id=found.id,
        where=f"{side}{at}",
        message=words.message(found),
        remedy=words.first_up(words.plain(seen.remedy, 300)),
        state=seen.state.value,
    )


def _marks(report: Report, frame: Frame, side: str) -> Iterable[Mark]:
    width, _ = frame.size
    for rank, cause in reversed(list(enumerate(report.causes, 1))):
        seen = _typical(cause).seen
        if seen.x is None or seen.y is None or seen.side not in (side, None):
            continue
        x, y = frame.at(seen.x, seen.y)
        says = f"{rank}, {words.state(seen.state.value)}: {words.plain(cause.cause, 200)}"
        yield Mark(rank, seen.state.value, width - x if side == "bottom" else x, y, says)


def _left(board: Board, index: int, report: Report, frame: Frame) -> Markup:
    shape = left_on(board, board.copper[index], report.process)
    return Markup("" if shape is None else f'<path d="{frame.path(shape)}"/>')


def _window(report: Report) -> dict[str, Any] | None:
    window = report.window
    if window is None:
        return None
    return {
        **(window_document(window) or {}),
        "nominal_mm": None
        if window.nominal.empty
        else [number(window.nominal.shallowest), number(window.nominal.deepest)],
    }


def _accepted(report: Report) -> tuple[Passed, ...]:
    most = None if len(report.accepted) <= _MOST_WHOLE else _MOST_PLACES
    return tuple(
        Passed(source.says, tuple(map(_place, source.findings[:most])), len(source.findings))
        for source in accepted.sources(report)
    )


def _examined(report: Report) -> Iterable[str]:
    board = report.board
    yield f"copper on {listed(board.sides)}"
    for what, total in report.counts.items():
        noun = {"gaps": "narrow gaps", "necks": "narrow necks"}.get(what, words.plain(what))
        yield words.count(total, noun.removesuffix("s"))
    yield f"nets from {words.plain(board.nets_from)}"
