"""What a process can make, as text: what to set in a layout editor, then tables of what passes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from checker.findings import State, Verdict
from checker.limits.asked import MIL, MOST
from checker.limits.limits import unset
from checker.report import text, words
from checker.report.limits_document import notes_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from checker.findings import Finding
    from checker.limits import Limits
    from checker.limits.asked import Answer, Least

_MARK = "*"
_RECALLED = "from memory"
_WIRE = "joints.wire"
_BAD = Verdict.MARGINAL, Verdict.NOT_MAKEABLE
_NOT_SET = "not set", "-", "-", "-", "-"
_LEGEND = (
    "With margin over the whole spread; luck: at best with luck, care or hand work; any: as "
    "little as {:.4f} mm will do. What decides: cutworthy explain RULE"
)
_PADS = (
    "Round or square, with margin. A lead is told at its widest, with the hole published for it; a "
    "via with the least drill at hand that takes its {}"
)


def limits_text(limits: Limits, seconds: float) -> RenderableType:
    """All that was asked of a process, for people."""
    process = limits.process
    parts: list[RenderableType] = [
        Text.assemble(
            ("What can be made", "bold"), f" with {words.plain(process.name)}, whatever the board"
        ),
        Text(words.first_up(words.cut_width(process))),
    ]
    for block in (
        _always(limits),
        _lengths(limits),
        _holes(limits),
        _between(limits),
        _lands(limits),
        _board(limits),
    ):
        lines = list(block)
        parts += ["", *lines] if lines else []
    parts += ["", text.paragraph("Holds", ". ".join(map(words.first_up, notes_of(process))) + ".")]
    return Group(*parts, text.mind([process.method]), text.took(seconds))


def _always(limits: Limits) -> Iterator[RenderableType]:
    """What speaks against the process itself, before all numbers."""
    for found, board in (
        (limits.always, "any board, even one that asks nothing"),
        (limits.both_sides, "any board with copper on both sides"),
    ):
        if found:
            worst = {one.seen.state for one in found}
            state = State.NOT_MAKEABLE if State.NOT_MAKEABLE in worst else State.MARGINAL
            yield Text.assemble(text.styled_state(state.value), f": {board}")
            yield from map(text.indented, _said(found))


def _said(found: Iterable[Finding]) -> Iterator[Text]:
    for line in dict.fromkeys(
        f"{words.plain(one.seen.message, 300)} ({one.rule}); "
        f"{words.plain(one.seen.remedy, 300)[:1].lower()}{words.plain(one.seen.remedy, 300)[1:]}"
        for one in found
    ):
        yield Text(line)


def _lengths(limits: Limits) -> Iterator[RenderableType]:
    if not limits.lengths:
        return
    yield Text("To set in a layout editor, at least", "bold")
    table = _columns(("", 0), ("mm", 1), ("mil", 1), ("luck mm", 1), ("mil", 1), ("decides", 0))
    for answer in limits.lengths:
        name, luck = answer.question.name, answer.luck or answer.sure
        if _not_set(answer, limits):
            table.add_row(name, *_NOT_SET)
        else:
            table.add_row(name, *_least(answer.sure), *_least(luck), _rules(answer.below))
    yield text.indented(table)
    yield text.indented(Text(_LEGEND.format(MIL)))


def _not_set(answer: Answer, limits: Limits) -> bool:
    """Whether the profile sets nothing of what limits a length."""
    question = answer.question
    return question.only and unset(limits.process, question.keys) == question.keys


def _least(least: Least) -> tuple[str, str]:
    if least.free:
        return "any", "any"
    if least.mm is None or least.mil is None:
        return f"> {MOST:.1f}", "-"
    return f"{least.mm:.2f}", str(least.mil)


def _rules(found: Iterable[Finding]) -> str:
    return ", ".join(sorted({one.rule for one in found})) or "-"


def _holes(limits: Limits) -> Iterator[RenderableType]:
    if not limits.lengths:
        return
    yield Text("Least pads round holes", "bold")
    columns = ("", 0), ("lead", 1), ("hole", 1), ("pad mm", 1), ("mil", 1), ("ring mm", 1)
    table = _columns(*columns, ("decides", 0))
    via = limits.via
    if via is not None:
        name = f"Via for a {limits.process.joints.method}" + " (with luck)" * via.with_luck
        table.add_row(name, "-", _short(via.hole), *_pad(via.pad, via.hole, limits))
    for lead, pad in limits.leads:
        numbers = _short(lead.lead), _short(lead.hole)
        table.add_row(_named(lead.name, lead.source), *numbers, *_pad(pad, lead.hole, limits))
    yield text.indented(table)
    yield text.indented(Text(_PADS.format(limits.process.joints.method)))
    if via is None:
        yield text.indented(Text(_no_via(limits)))
        yield from map(text.indented, _said(limits.no_via))


def _no_via(limits: Limits) -> str:
    if limits.no_via:
        return "No via passes:"
    if _WIRE in limits.unset:
        return f"No via can be told: the profile does not set {_WIRE}"
    return "No via: what any board with copper on both sides is told stands above"


def _pad(answer: Answer, hole: float, limits: Limits) -> tuple[str, ...]:
    """Pad in mm and mil, its ring, and what decides."""
    if _not_set(answer, limits):
        return _NOT_SET[:-1]
    pad = answer.sure.mm
    ring = "-" if pad is None else words.mm((pad - hole) / 2)
    return (*_least(answer.sure), ring, _rules(answer.below))


def _between(limits: Limits) -> Iterator[RenderableType]:
    if not limits.between:
        return
    yield Text("Traces between two pins, at the least width and clearance above", "bold")
    table = _columns(("", 0), ("pitch", 1), ("pad", 1), ("traces", 1), ("with luck", 1))
    for one in limits.between:
        pins = one.pins
        counts = (str(count) if count is not None else "no" for count in (one.sure, one.luck))
        table.add_row(_named(pins.name, pins.source), _short(pins.pitch), _short(pins.pad), *counts)
    yield text.indented(table)
    if any(one.sure is None or one.luck is None for one in limits.between):
        yield text.indented(Text("no: the pads themselves are too near each other"))


def _lands(limits: Limits) -> Iterator[RenderableType]:
    yield Text("Land patterns as published", "bold")
    table = _columns(
        ("", 0), ("pitch", 1), ("gap", 1), ("verdict", 0), ("wanted", 1), ("decides", 0)
    )
    for one in limits.lands:
        land = one.land
        table.add_row(
            _named(land.family, land.source),
            "-" if land.pitch is None else _short(land.pitch),
            _short(land.narrowest),
            text.styled_state(one.verdict.value),
            "-" if one.wanted is None else words.mm(one.wanted),
            ", ".join(one.decided_by) or ("any board, above" if one.verdict in _BAD else "-"),
        )
    yield text.indented(table)
    sources = f"{_MARK}: {_RECALLED}, at least in part; --format json names every source"
    if limits.process.cut is not None:
        sources = "gap: the narrowest between two pads; wanted: what decides asks for. " + sources
    yield text.indented(Text(sources))
    yield text.indented(Text(_tally([one.verdict for one in limits.lands])))


def _tally(verdicts: Sequence[Verdict]) -> str:
    said = [
        f"{verdicts.count(verdict)} {words.state(verdict.value)}"
        for verdict in Verdict
        if verdict in verdicts
    ]
    return f"Of {words.count(len(verdicts), 'pattern')}: {', '.join(said)}"


def _board(limits: Limits) -> Iterator[RenderableType]:
    size = limits.largest
    if size is None:
        said = "nothing in the profile limits it"
    elif not all(size):
        said = "none fits the machine and the blank with what is needed round it"
    else:
        said = f"{size[0]} x {size[1]} mm"
        said += ", with room for the outline cutter and the clamps" * (
            limits.process.cut is not None
        )
    yield text.paragraph("Largest board", said)
    if limits.unset:
        missing = ", ".join(limits.unset)
        yield text.paragraph("Not set in the profile", f"{missing}; nothing was asked of them")


def _short(length: float) -> str:
    """A length as published: two places, a third where it is needed."""
    two = f"{length:.2f}"
    return two if float(two) == length else words.mm(length)


def _named(name: str, source: str) -> str:
    return name + f" {_MARK}" * (_RECALLED in source)


def _columns(*columns: tuple[str, int]) -> Table:
    """A table whose columns with a 1 hold numbers."""
    table = text.ruled_table()
    for heading, number in columns:
        if number:
            table.add_column(heading, justify="right", no_wrap=True)
        else:
            table.add_column(heading, overflow="fold")
    return table
