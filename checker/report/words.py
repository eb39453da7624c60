"""Words and numbers that every format says the same way."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING

from checker.findings import Verdict
from checker.methods import ETCHING, LASER, MILLING, PERFBOARD
from checker.plural import count as count
from checker.process.bed import PER
from checker.remedy import FINE_STEP, down, probe_grid, up

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.board import Note, Unchecked
    from checker.comparison import Row
    from checker.depth import Window
    from checker.findings import Finding, Report
    from checker.measure import Facts
    from checker.process.bit import Spread
    from checker.process.model import Process

_LONGEST = 80
_HOUR, _ROUNDS_UP = 60, 0.5  # minutes
TOOK = "cutworthy took"  # how the last line of a text begins

_MACHINING = (
    "Milling and drilling glass-fibre laminate makes fine dust that harms lungs, eyes and skin: "
    "enclose and extract it, wear a mask and glasses. Bits break and fly; keep hands, gloves and "
    "sleeves off a turning spindle."
)
_BEAM = (
    "A beam that cuts copper is of class 4 (IEC 60825-1): straight, mirrored or scattered it "
    "blinds, burns and sets fire: closed housing with interlock, glasses for its wavelength and "
    "power, somebody there while it runs. Burnt laminate, FR-4 most of all, gives off toxic fumes: "
    "extract them to the open."
)
_ETCHANT = (
    "Etchant is handled by its data sheet; that of ferric chloride says Danger: damages eyes, "
    "irritates skin, harmful if swallowed, eats metal. Gloves, glasses, fresh air. Never mix "
    "etchants: chlorine may form. Once it holds copper it is hazardous waste, never for a drain."
)
_SOLDER = (
    "Solder fumes irritate and solder spits: fresh air and glasses, wash hands. Sawing and "
    "drilling the board makes dust that harms lungs: wear a mask. Pads half a millimetre apart are "
    "no place for mains."
)
_MAINS = (
    "Mains or other dangerous voltage on a board is to be judged by local code and licensed "
    "practice, not by this report."
)
_CAUTIONS = {
    MILLING: (_MACHINING, _MAINS),
    LASER: (_BEAM, _MACHINING, _MAINS),
    ETCHING: (_ETCHANT, _MACHINING, _MAINS),
    PERFBOARD: (_SOLDER, _MAINS),
}


def cautions(method: str) -> tuple[str, ...]:
    """What a maker has to mind with a method whatever the board, a few sentences each.

    After the published data sheets and limits: NIOSH on glass fibre, IEC 60825-1 on class 4 lasers,
    the hazard statements of ferric chloride (H290, H302, H315, H318).
    """
    return _CAUTIONS.get(method, (_MACHINING, _MAINS))


def unmeasured_sides(facts: Facts) -> tuple[str, ...]:
    """Sides that a census passed over: their facts are empty, which is not the same as none."""
    return tuple(
        layer.side
        for layer, gaps in zip(facts.board.copper, facts.gaps, strict=True)
        if gaps.reach < facts.reach.cut
    )


def how_far(judged: Report | Row) -> str:
    """What follows a verdict that may be too good, for what was not checked is no pass."""
    return proviso(judged.verdict, judged.unchecked)


def proviso(verdict: Verdict, unchecked: Sequence[Unchecked]) -> str:
    """The same of a verdict that stands without its report."""
    unsure = verdict in (Verdict.MAKEABLE, Verdict.MARGINAL) and unchecked
    return ", as far as it was checked" if unsure else ""


def by_reason(entries: Iterable[Unchecked]) -> dict[str, list[str]]:
    """What was not checked: why -> what, each harmless."""
    reasons: dict[str, list[str]] = {}
    for entry in entries:
        reasons.setdefault(plain(entry.why, 300), []).append(plain(entry.what))
    return reasons


def remark(note: Note) -> str:
    """A remark on a file, with its place."""
    where = f"{plain(note.source)}:{note.line}" if note.line else plain(note.source)
    return f"{where}: {plain(note.text, 300)}"


def plain(text: str, longest: int = _LONGEST) -> str:
    """A text from a file made harmless: one line, printable characters, not too long."""
    safe = "".join(c if c.isprintable() else repr(c)[1:-1] for c in text[: longest + 1])
    return safe if len(safe) <= longest else safe[: longest - 3] + "..."


def mm(length: float) -> str:
    """A length in mm to the micrometre, without the unit."""
    return f"{length:.3f}"


def cut_width(process: Process) -> str:
    """The width of the cut in words: nominal, at the worst, and as root sum of squares."""
    cut, likely = process.cut, process.cut_rss
    if cut is None:
        return "no copper is cut"
    what = "gap" if process.method == "etching" else "cut"
    text = f"{what} {mm(cut.nominal)} mm wide{' as measured' if process.measured else ''}"
    if cut.least == cut.most:
        return f"{text}, no spread given"
    text += f"; {_between(cut)} at the worst"
    if likely is None or _between(likely) == _between(cut):
        return text
    return f"{text}, {_between(likely)} if errors don't all add up"


def measured_when(process: Process, today: date | None = None) -> str | None:
    """Where the width of the cut comes from: catalogue, or which measurement and how old it is.

    None where no tool cuts. ``today`` None leaves the age out.
    """
    if process.bit is None:
        return None
    if not process.measured:
        what = "beam" if process.bit.shape == "beam" else "bit"
        return f"that width is worked out from the {what}'s catalogue figures, nobody measured it"
    told = process.measurement
    if told.date is None:
        return "that width was measured, the profile does not say when"
    text = f"that width was measured on {told.date}"
    if today is not None:
        text += f", {_age((today - date.fromisoformat(told.date)).days)}"
    if told.bit is not None:
        text += f", with {plain(told.bit)}"
    if told.readings is None:
        return text
    text += f", from {count(told.readings, 'reading')}"
    return text if told.residual is None else f"{text} that scatter by {mm(told.residual)} mm"


def _age(days: int) -> str:
    if days < 0:
        return f"{count(-days, 'day')} after today"
    return f"{count(days, 'day')} ago" if days else "today"


def foot_width(process: Process) -> str | None:
    """The width at the foot of the copper in words, None where no bit cuts or its walls stand."""
    foot, cut = process.foot, process.cut
    if foot is None or cut is None or process.bit is None or foot == cut:
        return None
    text = f"at the foot of the copper {mm(foot.nominal)} mm"
    return text if foot.least == foot.most else f"{text}; {_between(foot)} at the worst"


def probing(process: Process) -> str | None:
    """The grid to probe so that the blank's bow stays within the bed error counted with."""
    bow = process.machine.bow
    grid = probe_grid(bow, process.bed_error)
    if not grid or math.isinf(grid):
        return None
    held = f"a bow of {bow:.2f} mm over {PER} mm stays within ±{mm(process.bed_error)} mm"
    return f"{held} on a probed grid of {grid:.1f} mm or closer"


def no_margin(process: Process) -> str | None:
    """That verdicts carry no margin, where the profile does not say by how much the cut varies."""
    if process.cut is None or process.cut.least < process.cut.most:
        return None
    if process.spread_known:
        return "the profile gives no spread of the width: gaps are judged without margin"
    return "the profile gives no spread: verdicts carry no margin"


def _between(spread: Spread) -> str:
    return f"{mm(spread.least)} to {mm(spread.most)}"


def depths(window: Window, process: Process) -> str:
    """Which depths do, in a sentence, beside the one that the process sets."""
    depth = process.bit.depth.nominal if process.bit is not None else 0.0
    sure = window.sure
    least = f"{up(sure.shallowest, FINE_STEP):.3f}"
    if not sure.empty:
        if math.isinf(sure.deepest):
            span = f"{least} mm and deeper goes"
        else:
            most = f"{max(down(sure.deepest, FINE_STEP), sure.shallowest):.3f}"
            span = f"{least} to {'at least ' * window.beyond}{most} mm goes"
        return f"depth set to {mm(depth)} mm: {span} through the foil and opens every gap"
    if window.flatness < FINE_STEP:
        return (
            "no depth surely goes through the foil and opens every gap: the tightest passes a cut "
            f"of {mm(window.fits)} mm"
        )
    return (
        f"no depth surely goes through the foil and opens every gap: the foil asks for {least} mm, "
        f"the tightest gap for {max(0.0, down(sure.deepest, FINE_STEP)):.3f} mm or less; that "
        f"takes {flat_to(down(window.flatness, FINE_STEP), process.machine.bow)}"
    )


def drawer(report: Report) -> str | None:
    """Which bits that the maker owns would pass the tightest gap, in a sentence; None for none."""
    if report.window is None or not report.drawer:
        return None
    passes, bits = mm(report.window.fits), ", ".join(map(plain, report.drawer))
    return f"the tightest gap passes {passes} mm: of your bits {bits} cut no wider at the worst"


def relief(report: Report | Row) -> str | None:
    """What taking off spare copper would do, in a sentence; None where nobody asked."""
    if report.relief is None:
        return None
    opened, shut = report.relief
    left = shut - opened
    if not opened:
        return f"relief would open none of {count(shut, 'gap')} that can't be cut"
    share = f"{opened} of {count(shut, 'gap')}" if left else f"all {count(shut, 'gap')}"
    rest = f", {left} stay{'s' * (left == 1)} closed" if left else ""
    return f"relief may open {share} that can't be cut{rest}: see cutworthy relieve"


UNPLANNED = (
    "too many gaps are too narrow to plan here what relief would do: cutworthy relieve --dry-run "
    "tells"
)


def unplanned(report: Report) -> str | None:
    """That relief was not planned though gaps stay closed, for there are too many; else None."""
    return UNPLANNED if report.joined and report.relief is None else None


def waived_elsewhere(waivers: int) -> str | None:
    """That a command passes over waivers, so that its verdict may differ; None where none are."""
    if not waivers:
        return None
    are, them = ("is", "it") if waivers == 1 else ("are", "them")
    return f"{count(waivers, 'waiver')} for this board {are} passed over here: check counts {them}"


def flat_to(error: float, bow: float | None) -> str:
    """How flat the surface has to be, and what grid to probe for that if the bow is known."""
    flat = f"a surface flat to ±{error:.3f} mm"
    grid = probe_grid(bow, error)
    return f"{flat}, that is a probed grid of {grid:.1f} mm or closer" if grid else flat


def first_up(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def duration(minutes: float | None) -> str:
    """A time as people say it: "40 s", "12 min", "1 h 05"; "-" where it is not known."""
    if minutes is None:
        return "-"
    if minutes < 1:
        return f"{60 * minutes:.0f} s"
    if minutes < _HOUR - _ROUNDS_UP:
        return f"{minutes:.0f} min"
    hours, rest = divmod(round(minutes), _HOUR)
    return f"{hours} h {rest:02}"


def state(value: str) -> str:
    """A state or verdict as a person writes it."""
    return value.replace("-", " ")


def place(finding: Finding) -> str:
    """Where a finding stands: side and coordinates in mm."""
    seen = finding.seen
    side = seen.side or "whole board"
    if seen.x is None or seen.y is None:
        return side
    return f"{side:6}  x {seen.x:8.3f}  y {seen.y:8.3f}"


def message(finding: Finding) -> str:
    """What was seen, and those nets and pins that the message itself does not name."""
    text = plain(finding.seen.message, 300)
    names = dict.fromkeys(plain(name, 40) for name in (*finding.seen.nets, *finding.seen.pins))
    unnamed = "; ".join(name for name in names if name not in text)
    return f"{text} [{unnamed}]" if unnamed else text
